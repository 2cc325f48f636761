"""The command line: read words, call one job, print one answer. No arithmetic here."""

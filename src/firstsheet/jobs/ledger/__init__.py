"""Whole tasks around the ledger: remember a print, list, judge, number, make again."""

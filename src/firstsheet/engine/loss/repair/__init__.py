"""The smallest repair: local changes of colour before the paper, proposed and never silent."""

"""The bench (to come): the page in the browser. No arithmetic here."""

"""Where on the picture the paper takes something away, told in words and figures."""

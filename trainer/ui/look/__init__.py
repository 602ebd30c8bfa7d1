"""The look and the words that all pages share."""

"""Routes, tolerance chart, stock to leave, cutting data, blanks and saw list: how parts come to be."""

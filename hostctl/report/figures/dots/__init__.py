"""Rows of dots, which several kinds of figures have: the data of a row, and how it is drawn."""

"""The kinds of figures: the data of each, and how it is drawn."""

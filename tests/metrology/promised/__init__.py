"""How well what is promised is kept, by simulation: studies, cells, and the page that tells them.

`python tests/metrology/promises.py` writes tests/data/promises.md.
"""

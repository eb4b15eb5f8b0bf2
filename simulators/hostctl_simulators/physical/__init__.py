"""The bench: printers as built, bed, heat, head, indicator; and how well whose hands set."""

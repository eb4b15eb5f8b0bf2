"""Numbers as they go over the wire."""


def plain(value: float) -> str:
    """`value` to 0.001 without needless zeros: 12.5, 3, 0; never -0 and never an exponent."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text

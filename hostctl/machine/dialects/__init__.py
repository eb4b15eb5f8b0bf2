"""How one family of controllers words its orders."""

"""Who may use the page, over which connections, and how many of them."""

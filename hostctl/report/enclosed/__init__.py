"""A report is data: the run itself in the page, to be taken out and reckoned again by anyone."""

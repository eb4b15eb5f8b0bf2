"""What is to be foreseen of a study: how long it takes, and what it will be able to show."""

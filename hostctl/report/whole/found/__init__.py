"""What fills a report: how readings lie, in which order they came, how runs were carried out."""

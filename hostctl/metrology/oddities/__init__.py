"""What is odd in a block: outliers, drift, order, warming up."""

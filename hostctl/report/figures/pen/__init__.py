"""What figures are drawn with: marks and letters, scales, the signs of a terminal."""

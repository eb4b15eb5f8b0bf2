"""The true gap that methods set: means with their doubt, and where they were meant to lie."""

"""What is asked about a study, part by part, and what the answers come to."""

"""What an analysis comes to: records that hold everything that is said, and nothing else."""

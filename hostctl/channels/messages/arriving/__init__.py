"""What comes in by message: understood, bounded, judged."""

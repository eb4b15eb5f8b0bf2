"""Is it good enough, and how many trials would tell: tolerance, verdict, planning."""

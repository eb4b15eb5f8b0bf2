"""At the machine: its first motions, and what is measured by them, an answer each."""

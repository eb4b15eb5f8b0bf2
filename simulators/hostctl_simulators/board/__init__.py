"""The controller: lines in, commands carried out one after another, answers and faults."""

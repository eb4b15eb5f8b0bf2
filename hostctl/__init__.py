"""hostctl: how repeatable is a way of setting the nozzle gap, on your machine, in your hands."""

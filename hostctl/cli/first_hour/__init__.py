"""What `hostctl begin` leads through: the machine, its rig check, a study, and their runs."""

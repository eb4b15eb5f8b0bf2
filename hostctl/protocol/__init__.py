"""The serial line protocol as a pure state machine: bytes in, events out; no I/O and no clock."""

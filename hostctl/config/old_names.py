"""Keys that were renamed: older files, and those kept with older runs, are still read."""

OLD_NAMES: dict[tuple[str, ...], str] = {
    ("cycle", "disturb"): "turn_away",
    ("warm_up_cycles",): "dry_cycles",
}
"""Where an old key stands, and its name now. The models take both; `hostctl check` says so."""

"""Rig checks over weeks: control charts and their run rules."""

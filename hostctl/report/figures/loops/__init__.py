"""Figures of probe loops."""

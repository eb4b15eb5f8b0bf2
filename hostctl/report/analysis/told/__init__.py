"""The parts of the document that tells an analysis."""

"""Keys of an input device of this computer, asked of its kernel."""

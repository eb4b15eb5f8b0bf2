"""The lines of this computer, asked of its kernel: a button's, a lamp's, a contact's."""

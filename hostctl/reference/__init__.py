"""The reference beside the shipped files: what is read off the models, put between its prose."""

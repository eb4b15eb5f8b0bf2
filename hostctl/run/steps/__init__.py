"""Steps carried out: the deeds of one in order, and the reading that ends it."""

"""How much comes from where: gauge studies, analysis of variance, several laboratories."""

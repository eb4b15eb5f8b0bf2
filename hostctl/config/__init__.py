"""YAML to typed, validated objects, with file and line in each error."""

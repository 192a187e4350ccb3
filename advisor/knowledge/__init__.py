"""YAML knowledge -> frozen, cross-checked data.  Start at load.load_knowledge."""

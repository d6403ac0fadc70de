"""The site file: YAML read with its line numbers, checked all at once, turned into an SI description."""

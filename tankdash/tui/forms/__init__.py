"""Forms: what a person types, with its meaning explained below each field."""

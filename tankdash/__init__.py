"""How much rain water a row of linked tanks really holds, and what it asks of its keeper."""

__version__ = "0.1.0"

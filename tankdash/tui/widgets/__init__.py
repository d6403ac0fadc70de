"""Pieces a page is put together from."""

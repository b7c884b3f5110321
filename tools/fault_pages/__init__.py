"""Writes a page for every fault from the catalogue and the cycle; see ``__main__``."""

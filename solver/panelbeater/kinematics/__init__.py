"""Bone chains, how far joints turn, and how moves are spaced."""

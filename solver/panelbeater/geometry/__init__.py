"""Frames of reference, distances, and where the rig stands on the stage."""

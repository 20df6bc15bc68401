"""Tests of the figure room."""

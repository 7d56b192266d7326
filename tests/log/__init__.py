"""Tests of the practice log."""

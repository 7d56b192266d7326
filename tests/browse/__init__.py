"""Tests of kb/browse."""

"""Tests of kb/index."""

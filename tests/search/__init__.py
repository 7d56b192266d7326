"""Tests of kb/search."""

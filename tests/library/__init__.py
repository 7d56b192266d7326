"""Tests of kb/library."""

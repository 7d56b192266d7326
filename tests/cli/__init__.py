"""Tests of kb/cli."""

"""Tests of kb/draw."""

"""Tests of kb/score."""

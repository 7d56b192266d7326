"""Tests of kb/handout."""

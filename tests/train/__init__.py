"""Tests of kb/train."""

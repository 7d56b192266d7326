"""Tests of kb/keep."""

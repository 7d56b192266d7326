"""Tests of kb/size."""

"""Tests of kb/ladder."""

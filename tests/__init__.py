"""The tests, mirroring the package."""

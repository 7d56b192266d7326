"""The project's measurements: ratios against a baseline of the same run. `scripts/bench` runs them."""

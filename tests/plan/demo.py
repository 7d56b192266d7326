"""The demo evening: its files and themes."""

from tests.support import ROOT

GROUPS = ROOT / "drills" / "demo" / "groups.yaml"
LARKMOOR = ROOT / "drills" / "kits" / "larkmoor.yaml"
THEMES = ("tight body", "short handstand")

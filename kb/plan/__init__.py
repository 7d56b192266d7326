"""A theme, squads, kit and coaches to an evening of stations and rotations."""

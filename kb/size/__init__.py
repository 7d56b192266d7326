"""From a child's height to the centimetres of every piece of a station, built from what the gym owns."""

from kb.size.child import Child, child_of
from kb.size.fit import figure_to_size
from kb.size.squad import squad_sizes
from kb.size.station import station_sizes

__all__ = ["Child", "child_of", "figure_to_size", "squad_sizes", "station_sizes"]

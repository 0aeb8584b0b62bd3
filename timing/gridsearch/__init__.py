"""The search behind `timing.gridfit`: which nodes, on which raster and steps, come closest to a curve. Exact.

The unit draws straight lines between its nodes and holds the end values outside them, and so does the target. Their
difference is therefore linear between the breakpoints of both, and its largest size stands at one of them: nothing is
sampled.

Where every node is set, dynamic programming tries all values that could matter. Where nodes are free, it is decided
whether any setting stays within an error (`reachable`), the error is narrowed down by halving, and each setting found
on the way ends at an error that can be had. Among all settings with the least error dynamic programming then finds the
least sum of squares (`squares`; handbook, section 4).
"""

from timing.gridsearch.search import best_nodes
from timing.gridsearch.task import Bounds

__all__ = ["Bounds", "best_nodes"]

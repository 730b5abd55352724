"""The smooth deviation of "none of these": what no fault that is known does to a curve."""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.frozen import frozen
from bobweight.core.judgement.fit_curves import Simulator

NONE_U_DEG = 2.5
"""Standard deviation of each node's height before the readings, distributor degrees."""
NODES = 10


@frozen(eq=False)
class FreeDeviation:
    """A deviation that is straight between its nodes, level beyond them.

    Attributes
    ----------
    places_rpm : array, shape (nodes,)
        Distributor speeds of the nodes, evenly apart.
    root : array, shape (nodes, nodes)
        Root of the covariance between them.
    """

    places_rpm: Floats
    root: Floats

    def deg(self, nodes: Floats, speed_rpm: Floats) -> Floats:
        """Distributor degrees at distributor speeds, shape (batch, places).

        Parameters
        ----------
        nodes : array, shape (batch, nodes)
            Columns of points; the deviation is none where all are 0.
        speed_rpm : array, shape (batch or 1, places)
        """
        found = np.zeros((len(nodes), speed_rpm.shape[1]))
        rows = np.flatnonzero(nodes.any(axis=1))
        if len(rows):
            places, root = self.places_rpm, self.root
            heights = NONE_U_DEG * nodes[rows] @ root.T
            speed = np.broadcast_to(speed_rpm, found.shape)[rows]
            at = (speed - places[0]) / (places[1] - places[0])
            at = np.clip(at, 0.0, len(places) - 1.0)
            low = np.minimum(at.astype(int), len(places) - 2)
            before, after = (np.take_along_axis(heights, low + i, axis=1) for i in (0, 1))
            found[rows] = before + (at - low) * (after - before)
        return found


def free_deviation(simulator: Simulator) -> FreeDeviation:
    """The deviation over the speeds that were read with the pipe off."""
    speed = simulator.shown_rpm[~simulator.pipe_on] / simulator.ratio
    places = np.linspace(speed.min() - 1.0, speed.max() + 1.0, NODES)
    apart = (places[:, None] - places) / (1.5 * (places[1] - places[0]))
    root = np.linalg.cholesky(np.exp(-0.5 * apart**2) + 1e-6 * np.eye(NODES))
    return FreeDeviation(places, root)

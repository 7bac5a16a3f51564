"""The plan of visits as a mixed-integer programme, solved by HiGHS through scipy.

Each tree walks from the departure to the return along arcs: an arc from day d to day t is "next
watered on t after d". A visit is made on each day on which some arc ends. An arc longer than the
tree's life in a weather gives that weather up, and only so many may be given up. All arcs of one
tree that pass over one day add up to one, so that those of them that a weather breaks may be
summed in one row; that and a row for all simple trees taken as one keep the programme tight.

HiGHS: Q. Huangfu, J. A. J. Hall, Math. Prog. Comp. 10 (2018) 119-142.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array

from advisor.jobs.away.plan_case import Case, Flags, Floats, Ints

VISITS, CARRYING, GIVEN_UP, EXCESS = "visits", "carrying", "given up", "excess"
_INFEASIBLE: Final = (2, 4)  # 4: presolve could not tell from unbounded, which this never is


@dataclass(frozen=True, eq=False)
class Walkers:
    """What walks: single trees, trees that are alike, or all simple trees as one.

    Attributes
    ----------
    life : int array (m, W, D + 1)
    ready : int array (m, D + 1)
    litres, minutes : float array (m,)
    every : bool array (m,)
        Walks along every visit.
    """

    life: Ints
    ready: Ints
    litres: Floats
    minutes: Floats
    every: Flags


def single(case: Case, which: Flags, alike: bool = False) -> Walkers:
    """Let trees walk by themselves.

    Parameters
    ----------
    case : Case
    which : bool array (n,)
    alike : bool
        Let trees of the same lives walk together.
    """
    life, ready = case.life[which], case.ready[which]
    litres, minutes = case.litres[which], case.minutes[which]
    if alike and life.size:
        flat = np.concatenate([life.reshape(len(life), -1), ready], axis=1)
        _, first, group = np.unique(flat, axis=0, return_index=True, return_inverse=True)
        litres, minutes = (np.bincount(group.ravel(), each).astype(np.float64)
                           for each in (litres, minutes))
        life, ready = life[first], ready[first]
    return Walkers(life, ready, litres, minutes, np.zeros(len(life), dtype=bool))


def with_simple(case: Case, walkers: Walkers) -> Walkers:
    """Add all simple trees as one that is watered at every visit and costs nothing."""
    if not case.simple.any():
        return walkers
    life = case.life[case.simple].min(axis=0, keepdims=True)
    ready = np.zeros((1, case.end + 1), dtype=np.int64)
    nothing = np.zeros(1)
    return Walkers(np.concatenate([walkers.life, life]), np.concatenate([walkers.ready, ready]),
                   np.concatenate([walkers.litres, nothing]),
                   np.concatenate([walkers.minutes, nothing]),
                   np.append(walkers.every, True))


@dataclass(frozen=True, eq=False)
class Found:
    """What the solver came to.

    Attributes
    ----------
    days : tuple of int
    lost : bool array (W,)
    mask : bool array (m, D + 1)
        Which walker is watered when.
    value, bound : float
        Of the objective: reached, and shown not to be undercut.
    excess : float array (T,)
        Beyond a limit, by day that is possible.
    """

    days: tuple[int, ...]
    lost: Flags
    mask: Flags
    value: float
    bound: float
    excess: Floats


@dataclass(frozen=True)
class Within:
    """Between what a solution must lie, and how long may be searched [s]."""

    least: int = 0
    most: float = np.inf
    litres: float = np.inf
    seconds: float = 10.0


class Model:
    """The programme of one case.

    Parameters
    ----------
    case : Case
    walkers : Walkers
    may_lose : int
        How many weathers may be given up.
    """

    def __init__(self, case: Case, walkers: Walkers, may_lose: int) -> None:
        self.case, self.walkers, self.may_lose = case, walkers, may_lose
        self.nodes = np.array([0, *case.days], dtype=np.int64)
        self.place = np.full(case.end + 1, -1)
        self.place[self.nodes] = np.arange(self.nodes.size)
        self.tree, self.start, self.stop = self._arcs()
        self.inner = self.stop < case.end
        self.arcs, self.visits = self.tree.size, len(case.days)
        self.first_y = self.arcs + self.visits
        self.first_e = self.first_y + case.weathers
        self.columns = self.first_e + self.visits
        self.rows = [self._flow(), self._open(), *self._losses(), *self._limits()]

    def _arcs(self) -> tuple[Ints, Ints, Ints]:
        """Give tree, start and end of all arcs that do not give up too much by themselves."""
        found = []
        for day in self.nodes:
            stops = np.array([*(each for each in self.case.days if each > day), self.case.end])
            broken = (self.walkers.life[:, :, day, None] < stops).sum(axis=1)
            ok = broken <= self.may_lose
            ok &= (stops == self.case.end) | (self.walkers.ready[:, day, None] <= stops)
            tree, stop = np.nonzero(ok)
            found.append((tree, np.full(tree.size, day), stops[stop]))
        tree, start, stop = (np.concatenate(each) for each in zip(*found, strict=True))
        return tree, start, stop

    def _matrix(self, row: Any, column: Any, value: Any, rows: int) -> csr_array:
        entries = (np.concatenate(value), (np.concatenate(row), np.concatenate(column)))
        return coo_array(entries, shape=(rows, self.columns)).tocsr()

    def _flow(self) -> LinearConstraint:
        """Each walker leaves once, and leaves each day on which it comes."""
        many, arc = self.nodes.size, np.arange(self.arcs)
        leaves = self.tree * many + self.place[self.start]
        comes = (self.tree * many + self.place[self.stop])[self.inner]
        rows = len(self.walkers.life) * many
        net = self._matrix([leaves, comes], [arc, arc[self.inner]],
                           [np.ones(leaves.size), -np.ones(comes.size)], rows)
        once = np.tile(np.arange(many) == 0, len(self.walkers.life)).astype(float)
        return LinearConstraint(net, once, once)

    def _open(self) -> LinearConstraint:
        """Who is watered on a day needs a visit on it; who walks along every visit comes to all."""
        trees, many = len(self.walkers.life), self.visits
        comes = (self.tree * many + self.place[self.stop] - 1)[self.inner]
        every = np.arange(trees * many)
        net = self._matrix(
            [comes, every], [np.flatnonzero(self.inner), self.arcs + every % max(many, 1)],
            [np.ones(comes.size), -np.ones(every.size)], trees * many)
        low = np.where(np.repeat(self.walkers.every, many), 0.0, -np.inf)
        return LinearConstraint(net, low, np.zeros(trees * many))

    def _losses(self) -> list[LinearConstraint]:
        """A weather is given up where a walker's arcs over a day that it breaks are used."""
        broken = self.walkers.life[self.tree, :, self.start] < self.stop[:, None]
        arc, weather = np.nonzero(broken)
        if not arc.size:
            return []
        row, column = [], []
        for day in self.nodes:
            over = (self.start[arc] <= day) & (day < self.stop[arc])
            key = (self.tree[arc] * self.case.weathers + weather) * (self.case.end + 1) + day
            row.append(key[over])
            column.append(arc[over])
        keys, at = np.unique(np.concatenate(row), return_inverse=True)
        given = self.first_y + keys // (self.case.end + 1) % self.case.weathers
        net = self._matrix([at.ravel(), np.arange(keys.size)], [np.concatenate(column), given],
                           [np.ones(at.size), -np.ones(keys.size)], keys.size)
        return [LinearConstraint(net, np.full(keys.size, -np.inf), np.zeros(keys.size))]

    def _limits(self) -> list[LinearConstraint]:
        """What is done on a day stays within the limits of a visit, or goes into its excess."""
        found, day = [], np.arange(self.visits)
        comes = (self.place[self.stop] - 1)[self.inner]
        for most, each in ((self.case.limits.minutes, self.walkers.minutes),
                           (self.case.limits.litres, self.walkers.litres)):
            if most is not None:
                share = each[self.tree[self.inner]] / most
                net = self._matrix([comes, day, day],
                                   [np.flatnonzero(self.inner), self.arcs + day,
                                    self.first_e + day],
                                   [share, -np.ones(day.size), -np.ones(day.size)], day.size)
                found.append(LinearConstraint(net, np.full(day.size, -np.inf),
                                              np.full(day.size, 1e-9)))
        return found

    def solve(self, aim: str, within: Within) -> Found | bool:
        """Solve for one aim.

        Parameters
        ----------
        aim : str
            VISITS, CARRYING, GIVEN_UP or EXCESS: what is to be least.
        within : Within

        Returns
        -------
        Found, or whether it was shown that there is nothing
        """
        costs = self._costs(aim)
        told = milp(costs, integrality=self._whole(), bounds=self._bounds(aim),
                    constraints=[*self.rows, *self._spans(within)],
                    options={"time_limit": within.seconds, "mip_rel_gap": 0.0})
        if told.x is None:
            return told.status in _INFEASIBLE
        x, v = told.x[:self.arcs], told.x[self.arcs:self.first_y]
        mask = np.zeros((len(self.walkers.life), self.case.end + 1), dtype=bool)
        used = (x > 0.5) & self.inner
        mask[self.tree[used], self.stop[used]] = True
        days = tuple(day for day, go in zip(self.case.days, v, strict=True) if go > 0.5)
        return Found(days, told.x[self.first_y:self.first_e] > 0.5, mask, float(told.fun),
                     float(told.mip_dual_bound), told.x[self.first_e:])

    def _costs(self, aim: str) -> Floats:
        costs = np.zeros(self.columns)
        if aim == VISITS:
            costs[self.arcs:self.first_y] = 1.0
        elif aim == CARRYING:
            costs[:self.arcs] = np.where(self.inner, self.walkers.litres[self.tree], 0.0)
        elif aim == GIVEN_UP:
            costs[self.first_y:self.first_e] = 1.0
        else:
            costs[self.first_e:] = 1.0
        return costs

    def _whole(self) -> Ints:
        """Arcs need not be told to be whole where nothing but visits and weathers binds them."""
        whole = np.ones(self.columns, dtype=np.int64)
        whole[:self.arcs] = int(self.case.limited)
        whole[self.first_e:] = 0
        return whole

    def _bounds(self, aim: str) -> Bounds:
        high = np.ones(self.columns)
        high[self.first_e:] = np.inf if aim == EXCESS else 0.0
        return Bounds(np.zeros(self.columns), high)

    def _spans(self, within: Within) -> list[LinearConstraint]:
        visits, given = np.zeros(self.columns), np.zeros(self.columns)
        visits[self.arcs:self.first_y] = 1.0
        given[self.first_y:self.first_e] = 1.0
        spans = [LinearConstraint(visits, within.least, within.most),
                 LinearConstraint(given, -np.inf, self.may_lose)]
        if np.isfinite(within.litres):
            spans.append(LinearConstraint(self._costs(CARRYING), -np.inf, within.litres))
        return spans

"""Tells the units of a pool apart in a solution of the linear model, by walking through time."""

import collections


class Walk:
    """Units of a pool are alike but for where they stand and what they hold, so that any that can will do."""

    def __init__(self, book, yard, value, chosen):
        """value: of a column; chosen: (job, step) -> run. units: (job, step, None for parked) -> its units."""
        self.yard, self.units, self.hauls = yard, collections.defaultdict(list), []
        self.place = {unit: facts["place"] for unit, facts in book.units.items()}
        self.held_to = dict.fromkeys(book.units, -1)
        # When a unit was last hauled, and from when on it stands where it does.
        self.moved, self.there = dict.fromkeys(book.units, -2), dict.fromkeys(book.units, -1)
        moves, holds = collections.defaultdict(list), collections.defaultdict(list)
        for n, evening, long, pool, p, q, column in yard.hauls:
            moves[n, evening] += [(long, pool, p, q)] * value(column)
        for pool, place, first, last, column, name in yard.holds:
            if value(column):
                if name[1] is None:
                    runs = [run for (j, _), run in chosen.items() if j == name[0]]
                    first = yard.number[min(run.start for run in runs)]
                    last = yard.number[max(run.end for run in runs)]
                holds[first].append((last, pool, place, name, value(column)))
        for n in range(len(yard.halves)):
            for move in moves[n, False]:
                self.haul(n, False, *move)
            for hold in sorted(holds[n], key=lambda hold: -hold[0]):
                self.hold(n, *hold)
            for move in moves[n, True]:
                self.haul(n, True, *move)

    def hold(self, n, last, pool, place, name, count):
        here = [unit for unit in self.yard.pools[pool] if self.place[unit] == place and self.there[unit] <= n]
        free = [unit for unit in here if self.held_to[unit] < n]
        # First those that may not leave in this evening, since they came in this half-day.
        for unit in sorted(free, key=lambda unit: self.moved[unit] != n)[:count]:
            self.held_to[unit] = last
            self.units[name].append(unit)

    def haul(self, n, evening, long, pool, p, q):
        """H1: what was hauled in this half-day, is held on, or did not stand here to the end of the last, stays."""
        unit = next(
            unit
            for unit in self.yard.pools[pool]
            if self.place[unit] == p
            and self.moved[unit] < n
            and self.held_to[unit] < n + evening
            and self.there[unit] < n + evening
        )
        self.place[unit], self.moved[unit], self.there[unit] = q, n, n + (evening or long)
        self.hauls.append((self.yard.halves[n], evening, unit, p, q))

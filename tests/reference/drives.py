"""The fewest wants unmet and then the fewest extra drives of a stretch (L6) by CP-SAT: each kit flows through places, trucks and
units over time, all kits share the drives.
"""

import collections

from loads import key_of

BIG = 10**4  # more than the half-days of all wants of a week together


class Stretch:
    """The half-days from `first` to `until` with everything where it is: `groups`, a list of (wants, things), where wants are
    (half-day, place, truck or None, count) and things (spot, from which half-day on)."""

    def __init__(self, rounds, first, until):
        from ortools.sat.python import cp_model

        self.rounds, self.first, self.until = rounds, first, until
        self.model = cp_model.CpModel()
        self.spots = rounds.spots()
        self.places = {h: rounds.may_drive(h) for h in range(first, until)}
        self.drives = {(h, p, q): self.model.NewBoolVar("") for h, places in self.places.items() for p in places for q in places if p != q}
        self.nexts = {(h, m, s): rounds.nexts(s, h, m) for h in range(first, until) for m in ("start", "evening") for s in self.spots}
        self.met = []  # (half-day, variable)

    def flow(self, wants, things):
        """Things that are alike, and what is wanted of them."""
        arcs_in, arcs_out = collections.defaultdict(list), collections.defaultdict(list)
        most = len(things)

        def arc(tail, head):
            variable = self.model.NewIntVar(0, most, "")
            arcs_out[tail].append(variable)
            arcs_in[head].append(variable)
            return variable

        came = collections.Counter((max(since, self.first), spot) for spot, since in things if since < self.until)
        used = {(h, p, t): self.model.NewIntVar(0, count, "") for h, p, t, count in wants}
        self.met += [(h, variable) for (h, _, _), variable in used.items()]
        for h in range(self.first, self.until):
            for spot in self.spots:
                for to in self.nexts[h, "start", spot]:
                    arc((h, "start", spot), (h, "work", to))
                for to in self.nexts[h, "evening", spot]:
                    arc((h, "evening", spot), (h + 1, "start", to))
                arc((h, "work", spot), (h, "evening", spot))
            self.by_drives(h, arc)
            self.at_work(h, arc, used)
        for h, place, truck, _ in wants:
            here = [("truck", truck)] if truck else [spot for spot in self.spots if self.rounds.after(spot, h) == place]
            there = sum((variable for spot in here for variable in arcs_in[h, "work", spot]), 0)
            together = [variable for (at, p, t), variable in used.items() if (at, p, t) == (h, place, truck)]
            self.model.Add(sum(together) <= there)
        for node in list(arcs_out):
            come = came[node[0], node[2]] if node[1] == "start" else 0
            self.model.Add(sum(arcs_in[node]) + come == sum(arcs_out[node]))

    def by_drives(self, h, arc):
        for p in self.places[h]:
            for spot in self.rounds.driven_from(h, p):
                arc((h, "start", spot), (h, "drive from", p))
            for spot in self.rounds.driven_to(h, p):
                arc((h, "drive to", p), (h, "work", spot))
            for q in self.places[h]:
                if p != q:
                    goes = arc((h, "drive from", p), (h, "drive to", q))
                    self.model.Add(goes == 0).OnlyEnforceIf(self.drives[h, p, q].Not())

    def at_work(self, h, arc, used):
        """What serves at a place may be put elsewhere there (L4)."""
        for (at, place, truck), serves in used.items():
            if at == h and truck is None:
                here = [spot for spot in self.spots if self.rounds.after(spot, h) == place]
                hub = (h, "serving", place)
                put = [arc((h, "work", spot), hub) for spot in here]
                for spot in here:
                    arc(hub, (h, "evening", spot))
                self.model.Add(sum(put) <= serves)

    def solve(self, seconds):
        """(wants met, the sum of their half-days to the end, drives), where it is proven; else None."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds, solver.parameters.num_workers = float(seconds), 2
        # One more met before all; of as many the earlier ones; with that the fewest drives.
        worth = sum((BIG + self.until - h) * variable for h, variable in self.met)
        self.model.Maximize(worth)
        if solver.Solve(self.model) != cp_model.OPTIMAL:
            return None
        self.model.Add(worth == round(solver.ObjectiveValue()))
        self.model.Minimize(sum(self.drives.values()))
        if solver.Solve(self.model) != cp_model.OPTIMAL:
            return None
        met = sum(solver.Value(variable) for _, variable in self.met)
        early = sum((self.until - h) * solver.Value(variable) for h, variable in self.met)
        return met, early, sum(solver.Value(variable) for variable in self.drives.values())


def stretches(judge):
    """The stretches of the lists that end with their week: (first, until)."""
    begins = {judge.first, *(item.word[0] for item in judge.items.values() if item.word), *range(0, judge.until, 14)}
    begins = sorted(h for h in begins if judge.first <= h < judge.until)
    for first, following in zip(begins, [*begins[1:], judge.until]):
        if following % 14 == 0 or following == judge.until:
            yield first, following


def best(judge, first, until, seconds):
    """What CP-SAT proves of a stretch, and what the lists have of it."""
    stretch = Stretch(judge.rounds, first, until)
    kits = collections.defaultdict(lambda: (collections.Counter(), []))
    for (h, _, place, truck, kit), count in judge.rounds.wants(judge.until).items():
        if first <= h < until:
            kits[kit][0][h, place, truck] += count
    for key, item in judge.items.items():
        thing = (judge.where[key, first] or item.spot, item.since)
        if item.kit in kits:
            kits[item.kit][1].append(thing)
        if item.wanted and first <= item.wanted[0] < until:
            kits[key] = (collections.Counter({(*item.wanted, None): 1}), [thing])
    for wants, things in kits.values():
        stretch.flow([(*at, count) for at, count in wants.items()], things)
    return stretch.solve(seconds), listed(judge, first, until)


def listed(judge, first, until):
    """The same three numbers as the lists have them."""
    index = judge.book.index
    hours = [h for (h, *_), row in judge.wants for _ in row["met_by"] if first <= h < until]
    lacking = {key_of(row) for row in judge.lists["missing"] if "material" in row}
    hours += [item.wanted[0] for key, item in judge.items.items() if item.wanted and first <= item.wanted[0] < until and key not in lacking]
    drives = sum(first <= index(drive["at"]) < until for drive in judge.lists["drives"])
    return len(hours), sum(until - h for h in hours), drives

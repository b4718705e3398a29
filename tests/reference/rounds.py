"""Rules L1 to L5 read from a book and its plan: where trucks and units stand, who passes where, what is wanted, and where a thing
may be next. A spot is ("place", id), ("truck", id) or ("unit", id); moments are start, work and evening.
"""

import collections
import math

Round = collections.namedtuple("Round", "crew truck visits leaves")  # leaves: unit -> the visit at which it leaves


def distinct(rows):
    return list(dict.fromkeys(rows))


class Rounds:
    def __init__(self, book, plan):
        self.book, self.plan = book, plan
        self.truck_of = collections.defaultdict(list)
        for truck, facts in book.trucks.items():
            self.truck_of[facts.get("crew")].append(truck)
        self.works = collections.defaultdict(list)  # crew, half-day -> places
        self.kits = collections.defaultdict(collections.Counter)  # half-day, crew, place -> the most of each kit
        self.stands = {}  # spot, half-day, begun -> place; begun: all of its start has happened
        self.hauled = {}  # unit, half-day, moment -> its row
        self.rounds = collections.defaultdict(list)  # half-day, moment
        self.work()
        self.units()
        for crew in book.crews:
            if book.own(crew):
                for am in range(0, book.H, 2):
                    self.date(crew, am)
        for truck in self.truck_of[None]:
            for h in range(book.H):
                for moment in ("start", "evening"):
                    visits, leaves = self.ends([truck], h, moment)
                    if visits:
                        self.rounds[h, moment].append(Round(None, truck, visits, leaves))

    # L2

    def work(self):
        book = self.book
        order = {(job["id"], step["id"]): n for n, (job, step) in enumerate((job, step) for job in book.jobs.values() for step in job["steps"])}
        for row in sorted(self.plan["steps"], key=lambda row: (book.index(row["start"]), order[row["job"], row["step"]])):
            job = book.jobs[row["job"]]
            step = next(step for step in job["steps"] if step["id"] == row["step"])
            way = next(way for way in book.ways(step) if way["id"] == row["way"])
            team, over = (row["crew"], *row.get("with", [])), row.get("overtime", False)
            takes = collections.Counter(step.get("takes", []))
            for h in range(max(book.now, book.index(row["start"])), book.index(row["end"]) + 1):
                if not book.workable(job, step, team, way, h, over):
                    continue
                for crew in book.at_work(team, h, over):
                    self.works[crew, h] = distinct([*self.works[crew, h], job["place"]])
                if takes:
                    self.kits[h, row["crew"], job["place"]] |= takes

    def wants(self, until):
        """(half-day, crew, place, truck or None, kit) -> how many, from now on. The truck: where it must be in one."""
        wants = collections.Counter()
        for (h, crew, place), kits in self.kits.items():
            truck = self.along(crew, h)
            for kit, count in kits.items() if h < until else ():
                at = (h, crew, self.works[crew, h][0] if truck else place, truck, kit)
                wants[at] = max(wants[at], count)
        return wants

    def along(self, crew, h):
        """The truck in which all must be that is wanted of a crew that goes among several places."""
        return self.goes_with(crew, h) if self.book.own(crew) and len(self.works[crew, h]) > 1 else None

    # L3

    def goes_with(self, crew, h):
        out = lambda truck: h in self.book.halves(self.book.trucks[truck].get("out", []))
        return next((truck for truck in self.truck_of[crew] if not out(truck)), None)

    def hauls(self, trucks, h, moment):
        evening = moment == "evening"
        return [row for row in self.plan["hauls"] if row["truck"] in trucks and self.book.index(row["at"]) == h and row.get("evening", False) == evening]

    def ends(self, trucks, h, moment, stands=None):
        """Where they stand, and both ends of each haul; of one that takes all of the half-day where it sets out. With the visit
        at which each unit leaves."""
        visits, leaves = [stands] if stands else [], {}
        for row in self.hauls(trucks, h, moment):
            leaves[row["unit"]] = len(visits)
            visits += [row["from"]] if moment == "start" and self.long(row) else [row["from"], row["to"]]
        return visits, leaves

    def long(self, row):
        minutes = self.book.minutes(row["unit"], row["from"], row["to"])
        return minutes is not None and minutes > self.book.same

    def units(self):
        book = self.book
        for row in self.plan["hauls"]:
            if book.index(row["at"]) >= book.now:
                self.hauled[row["unit"], book.index(row["at"]), "evening" if row.get("evening") else "start"] = row
        for unit, facts in book.units.items():
            at = facts["place"]
            for h in range(book.H):
                self.stands[("unit", unit), h, False] = at
                row = self.hauled.get((unit, h, "start"))
                at = row["to"] if row else at
                self.stands[("unit", unit), h, True] = None if row and self.long(row) else at
                row = self.hauled.get((unit, h, "evening"))
                at = row["to"] if row else at
            self.stands[("unit", unit), book.H, False] = at

    def date(self, crew, am):
        home, own = self.book.crews[crew].get("home"), self.truck_of[crew]
        stands, out = home, False
        for h in (am, am + 1):
            truck = self.goes_with(crew, h)
            for of in own:
                self.stands[("truck", of), h, False] = stands if of == truck else home
            (visits, leaves), works = self.ends(own, h, "start", stands), self.works[crew, h]
            if leaves or works:
                out = True
                self.rounds[h, "start"].append(Round(crew, truck, visits + works, leaves))
                stands = (visits + works)[-1]
            for of in own:
                self.stands[("truck", of), h, True] = home if of != truck else stands if len(works) < 2 else None
        visits, leaves = self.ends(own, am + 1, "evening", stands)
        if out or leaves:
            self.rounds[am + 1, "evening"].append(Round(crew, self.goes_with(crew, am + 1), visits + ([home] if home else []), leaves))
        for of in own:
            self.stands[("truck", of), am + 2, False] = home

    # L1, L4, L5

    def before(self, spot, h, moment="start"):
        """Where a spot is before a moment; None: on the road, or nobody knows."""
        return spot[1] if spot[0] == "place" else self.stands.get((spot, h, moment != "start"))

    def after(self, spot, h, moment="start"):
        return self.before(spot, h + 1) if moment == "evening" else self.before(spot, h, "evening")

    def spots(self):
        book = self.book
        return [("place", p) for p in book.places] + [("truck", t) for t in book.trucks] + [("unit", u) for u in book.units]

    def taken_up(self, spot, of, h, moment):
        """The first visit of a round at which a thing is taken up from a spot, or is in its truck; None: it is not."""
        at, visits = self.before(spot, h, moment), of.visits
        if of.truck and spot == ("truck", of.truck):
            return 0
        if spot[0] == "truck":
            too = moment == "start" and of.truck and at and self.before(("truck", of.truck), h) == at == visits[0]
            return 0 if too else None
        if spot[0] == "unit" and (spot[1], h, moment) in self.hauled:
            # It is opened by who hauls it, until it leaves.
            visits = visits[: of.leaves.get(spot[1], -1) + 1]
        return visits.index(at) if at in visits else None

    def set_down(self, first, of, h, moment):
        """The spots at which a thing may be set down on a round from a visit on."""
        passed = set(of.visits[first:])
        spots = {("place", place) for place in passed}
        for unit in self.book.units:
            spot = ("unit", unit)
            if (unit, h, moment) not in self.hauled:
                ends = {self.after(spot, h, moment)}
            elif unit in of.leaves:
                if self.before(spot, h, moment) in of.visits[first : of.leaves[unit] + 1]:
                    spots.add(spot)
                ends = {self.after(spot, h, moment)}
            else:
                continue
            if ends & passed:
                spots.add(spot)
        return spots

    def nexts(self, spot, h, moment):
        """Where a thing may be after a moment, without an extra drive."""
        spots = {spot}
        for of in self.rounds[h, moment]:
            first = self.taken_up(spot, of, h, moment)
            if first is not None:
                spots |= self.set_down(first, of, h, moment) | ({("truck", of.truck)} if of.truck else set())
        return spots

    def still(self, spot, h):
        return spot[0] != "unit" or (spot[1], h, "start") not in self.hauled

    def driven_from(self, h, place):
        """The spots from which a drive takes things."""
        return {spot for spot in self.spots() if self.still(spot, h) and self.before(spot, h) == place}

    def driven_to(self, h, place):
        return {spot for spot in self.spots() if self.still(spot, h) and self.after(spot, h) == place}

    def may_drive(self, h):
        """The places between which somebody may drive for things alone."""
        no_travel = lambda place: self.book.weather[place][h].get("no_travel")
        free = any(self.book.truck_free(truck, h) for truck in self.book.trucks)
        return [place for place in self.book.places if not no_travel(place)] if free else []


class Item:
    """A thing, or material that is brought: its kit or None, where it is at first, from which half-day on, the word that counts from a
    half-day on, and of material where and when it is wanted."""

    def __init__(self, key, kit, spot, since=0, word=None, wanted=None, facts=None):
        self.key, self.kit, self.spot, self.since, self.word, self.wanted, self.facts = key, kit, spot, since, word, wanted, facts or {}


def items(book, plan):
    """L1 and L7: all that is loaded, by ("thing", id) or ("material", job/step, position)."""
    carrier = lambda id: ("truck", id) if id in book.trucks else ("unit", id)
    named = lambda id: ("place", id) if id in book.places else carrier(id)
    said = lambda row: ("place", row["at"]) if "at" in row else carrier(row["rides_in"]) if "rides_in" in row else None
    found = {}
    for thing in book.raw.get("things", []):
        spot, word = said(thing) or ("home" in thing and named(thing["home"])) or None, None
        if "seen" in thing:
            word = (book.index(thing["seen"]["when"]) + 1, said(thing["seen"]))
            if word[0] <= book.now:
                spot, word = word[1], None
            else:
                spot = spot or word[1]
        if spot:
            key = ("thing", thing["id"])
            found[key] = Item(key, thing.get("counts_as"), spot, word=word, facts=thing)
    for row, job, step in beginning(book, plan):
        for n, of in enumerate(step.get("material", [])):
            at = of.get("at") or (of.get("to") if "expected" in of else None)
            if at and at != job["place"]:
                since = max(0, book.index(of["expected"] + " am")) if "at" not in of else 0
                key = ("material", f"{job['id']}/{step['id']}", n)
                found[key] = Item(key, None, ("place", at), since, wanted=(book.index(row["start"]), job["place"]), facts=of)
    return found


def beginning(book, plan):
    """The rows of steps that begin from now on: (row, job, step)."""
    for row in plan["steps"]:
        job = book.jobs[row["job"]]
        step = next(step for step in job["steps"] if step["id"] == row["step"])
        if row.get("span", 1) == 1 and "progress" not in step and book.now <= book.index(row["start"]) < book.H:
            yield row, job, step


def nights(book, rounds, things, where, first, until):
    """L8: ((pm, thing), low) of each night that is too cold for where a thing is. `where`: thing, half-day -> its spot before it."""
    for pm in range(first, until):
        for item in things if pm % 2 else ():
            above, spot = item.facts.get("keep_above_f"), where[item.key, pm + 1]
            if above is None or item.key[0] != "thing" or spot is None:
                continue
            place = rounds.before(spot, pm + 1)
            if spot[0] == "place" and book.places[place].get("heated"):
                continue
            lows = (book.weather[p][h].get("low_f") for p in ([place] if place else book.places) for h in (pm, pm + 1) if h < book.H)
            low = min((low for low in lows if low is not None), default=math.inf)
            if low < above:
                yield (pm, item.key), low

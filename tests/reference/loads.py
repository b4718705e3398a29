"""Judges load lists, as `yardless load --json` prints them, half-day by half-day by rules L1 to L8.

loads.py BOOK PLAN LISTS    prints every breach; exit 0 when the lists hold
"""

import collections
import json
import sys

import rounds as reading
from book import load

MOMENTS = ["start", "work", "evening"]


def spot_of(said):
    [(kind, name)] = said.items()
    return kind, name


def key_of(what):
    return ("thing", what["thing"]) if "thing" in what else ("material", what["material"], what["position"])


class Judge:
    """Plays the lists; `breaches` has what does not hold, `where` the spot of each thing before each half-day."""

    def __init__(self, book, plan, lists):
        self.book, self.plan, self.lists, self.breaches = book, plan, lists, []
        self.rounds, self.items = reading.Rounds(book, plan), reading.items(book, plan)
        self.first, self.until = book.index(lists["from"]), book.index(lists["to"]) + 1
        self.now = {key: item.spot for key, item in self.items.items()}
        self.where, self.during = {}, {}
        self.moves = collections.defaultdict(list)
        for n, move in enumerate(lists["moves"]):
            self.moves[book.index(move["at"]), move["when"]].append((n, move))
        self.wants = [self.want(row) for row in lists["wants"]]
        self.play()

    def say(self, rule, h, words):
        self.breaches.append(f"{rule} {self.book.text(h)}: {words}")

    def want(self, row):
        crew, h = row["crew"], self.book.index(row["at"])
        truck = self.rounds.along(crew, h)
        if row["along"] != bool(truck):
            self.say("L2", h, f"{row['kit']} for {crew} goes along, or does not")
        return (h, crew, row["place"], truck, row["kit"]), row

    def play(self):
        self.order()
        self.wanted()
        for h in range(self.first, self.until):
            self.words(h)
            self.where.update({(key, h): self.at(key, h) for key in self.items})
            self.moment(h, "start")
            self.during.update({(key, h): self.at(key, h) for key in self.items})
            self.drives(h)
            self.met(h)
            self.material(h)
            self.moment(h, "work")
            self.moment(h, "evening")
        self.words(self.until)
        self.where.update({(key, self.until): self.at(key, self.until) for key in self.items})
        self.inside()
        self.round_up()
        self.lots()

    def words(self, h):
        """L1: somebody's word counts from now on."""
        for key, item in self.items.items():
            if item.word and item.word[0] == h:
                self.now[key] = item.word[1]

    def at(self, key, h):
        return self.now[key] if h >= self.items[key].since else None

    def order(self):
        times = [(self.book.index(move["at"]), MOMENTS.index(move["when"])) for move in self.lists["moves"]]
        if times != sorted(times) or any(not self.first <= h < self.until for h, _ in times):
            self.say("L4", self.first, "the moves are not in the order of time")

    def wanted(self):
        """L2: all that is wanted is listed, as often."""
        listed = collections.Counter()
        for at, row in self.wants:
            listed[at] += row["count"]
        wants = self.rounds.wants(self.until)
        for at in sorted(listed.keys() | wants.keys(), key=str):
            if listed[at] != wants[at]:
                self.say("L2", at[0], f"{wants[at]} {at[4]} are wanted by {at[1]} at {at[2]}, {listed[at]} listed")

    # L1, L4, L5

    def moment(self, h, moment):
        by_item = collections.defaultdict(list)
        for n, move in self.moves[h, moment]:
            key = key_of(move["what"])
            if key not in self.items:
                self.say("L1", h, f"{key} is not loaded")
            elif h < self.items[key].since:
                self.say("L7", h, f"{key} has not come yet")
            else:
                by_item[key].append(move)
        for key, moves in by_item.items():
            spots = [self.now[key], *(spot_of(move["to"]) for move in moves)]
            if [spot_of(move["from"]) for move in moves] != spots[:-1]:
                self.say("L1", h, f"{key} is taken up where it is not: it is at {self.now[key]}")
            elif moment == "work":
                self.at_work(h, key, moves)
            elif any(move["by"] != moves[0]["by"] for move in moves):
                self.say("L4", h, f"{key} is handed from one to another")
            elif "drive" in moves[0]["by"]:
                self.on_drive(h, key, moves)
            else:
                self.on_round(h, moment, key, moves, spots)
            self.now[key] = spots[-1]

    def on_round(self, h, moment, key, moves, spots):
        crew, truck = moves[0]["by"].get("crew"), moves[0]["by"].get("truck")
        carried = ("truck", truck)
        whole = [spots[0], *([carried] if truck and carried not in (spots[0], spots[-1]) else []), spots[-1]]
        for of in self.rounds.rounds[h, moment]:
            if (of.crew, of.truck) != (crew, truck) or spots != whole:
                continue
            first = self.rounds.taken_up(spots[0], of, h, moment)
            if first is None:
                continue
            if (truck and spots[-1] == carried) or spots[-1] in self.rounds.set_down(first, of, h, moment):
                return
        self.say("L4", h, f"{crew or truck} does not bring {key} from {spots[0]} to {spots[-1]} in the {moment}")

    def on_drive(self, h, key, moves):
        n = moves[0]["by"]["drive"]
        drive = self.lists["drives"][n] if 0 <= n < len(self.lists["drives"]) else None
        if drive is None or self.book.index(drive["at"]) != h or len(moves) > 1:
            return self.say("L5", h, f"{key} goes with no drive of then")
        goes = spot_of(moves[0]["from"]) in self.rounds.driven_from(h, drive["from"]) and spot_of(moves[0]["to"]) in self.rounds.driven_to(h, drive["to"])
        if not goes:
            self.say("L5", h, f"{key} does not go with the drive from {drive['from']} to {drive['to']}")

    def drives(self, h):
        for n, drive in enumerate(self.lists["drives"]):
            if self.book.index(drive["at"]) != h:
                continue
            may = self.rounds.may_drive(h)
            if drive["from"] not in may or drive["to"] not in may or drive["from"] == drive["to"]:
                self.say("L5", h, f"nobody may drive from {drive['from']} to {drive['to']}")
            if not self.book.truck_free(drive["truck"], h) or self.book.trucks[drive["truck"]].get("crew") != drive["crew"]:
                self.say("L5", h, f"{drive['truck']} is not to be had for a drive, or is another crew's")
            if not any(move["by"].get("drive") == n for _, move in self.moves[h, "start"]):
                self.say("L6", h, f"nothing goes with the drive from {drive['from']} to {drive['to']}")

    def at_work(self, h, key, moves):
        """Put down by the crew that it serves, or into what is there."""
        for move in moves:
            serves = [at for at, row in self.wants if at[0] == h and key in map(key_of, row["met_by"]) and at[1] == move["by"].get("crew")]
            here = lambda spot, place: self.rounds.after(spot, h) == place
            right = (at[3] is None and all(here(spot_of(move[end]), at[2]) for end in ("from", "to")) for at in serves)
            if not any(right):
                self.say("L4", h, f"{key} does not serve where {move['by'].get('crew')} puts it elsewhere")

    # L2, L6, L7

    def present(self, key, h, place, truck):
        spot = self.during[key, h]
        return spot is not None and (spot == ("truck", truck) if truck else self.rounds.after(spot, h) == place)

    def met(self, h):
        served, short = collections.Counter(), self.short(h)
        asked = collections.defaultdict(lambda: [0, 0])
        for at, row in self.wants:
            if at[0] != h:
                continue
            _, crew, place, truck, kit = at
            for key in map(key_of, row["met_by"]):
                served[key] += 1
                if key not in self.items or self.items[key].kit != kit or not self.present(key, h, place, truck):
                    self.say("L2", h, f"{key} does not serve {crew} at {place} as {kit}")
            if len(row["met_by"]) + short[crew, place, kit] != row["count"]:
                self.say("L6", h, f"{row['count']} {kit} for {crew} at {place}: {len(row['met_by'])} are met, {short[crew, place, kit]} named missing")
            asked[place, truck, kit][0] += row["count"]
            asked[place, truck, kit][1] += short.pop((crew, place, kit), 0)
        for key, times in served.items():
            if times > 1:
                self.say("L2", h, f"{key} serves {times} wants at once")
        if +short:
            self.say("L6", h, f"named missing though not wanted: {dict(short)}")
        for (place, truck, kit), (count, missing) in asked.items():
            there = sum(self.present(key, h, place, truck) for key, item in self.items.items() if item.kit == kit)
            if missing != max(0, count - there):
                self.say("L6", h, f"{kit} at {place}: {count} wanted, {there} there, {missing} named missing")

    def short(self, h):
        short = collections.Counter()
        for row in self.lists["missing"]:
            if "kit" in row and self.book.index(row["at"]) == h:
                short[row["crew"], row["place"], row["kit"]] += row["short"]
        return short

    def material(self, h):
        named = [key_of(row) for row in self.lists["missing"] if "material" in row]
        for key, item in self.items.items():
            if item.wanted and item.wanted[0] == h and self.present(key, h, item.wanted[1], None) == (key in named):
                self.say("L7", h, f"{key} is named missing and there, or neither")

    # L8

    def inside(self):
        week = (self.until - 1) // 14 * 14
        found = dict(reading.nights(self.book, self.rounds, self.items.values(), self.where, max(week, self.first), self.until))
        listed = {(self.book.index(row["after"]), key_of(row["what"])): row["low_f"] for row in self.lists["inside"]}
        for pm, key in sorted(found.keys() | listed.keys()):
            if found.get((pm, key)) != listed.get((pm, key)):
                self.say("L8", pm, f"{key} is kept inside from a night of {found.get((pm, key))}, listed {listed.get((pm, key))}")

    def round_up(self):
        sites = {job["place"] for job in self.book.jobs.values()}
        found = set()
        for key, item in self.items.items():
            spot = self.where[key, self.until]
            if key[0] == "thing" and spot and spot[0] == "place" and spot[1] in sites and item.facts.get("home") != spot[1]:
                found.add((key, spot[1]))
        for key, place in found ^ {(key_of(row["what"]), row["place"]) for row in self.lists["round_up"]}:
            self.say("L8", self.until - 1, f"{key} lies at {place} when the week is over, and is not listed, or is listed and does not")

    # L7

    def lots(self):
        book, week = self.book, max((self.until - 1) // 14 * 14, self.first)
        found = {}
        for row, job, step in reading.beginning(book, self.plan):
            for n, of in enumerate(step.get("material", [])):
                if book.index(row["start"]) >= week:
                    found["material", f"{job['id']}/{step['id']}", n] = self.lot(row, job, of)
        listed = {key_of(row): tuple(row.get(field) for field in ("on_hand_at", "expected", "to", "short", "order_by", "too_late")) for row in self.lists["material"]}
        elsewhere = {key_of(row): row.get("elsewhere") for row in self.lists["material"]}
        for key in sorted(found.keys() | listed.keys()):
            stands, hauls = found.get(key, (None, None))
            if stands != listed.get(key):
                self.say("L7", week, f"{key} is {stands}, listed {listed.get(key)}")
            elif hauls != elsewhere[key]:
                self.say("L7", week, f"{key} costs {hauls}, listed {elsewhere[key]}")

    def lot(self, row, job, of):
        """How material stands, and what bringing it costs."""
        book, to = self.book, of.get("to")
        if "at" in of:
            stands, at = (of["at"], None, None, None, None, None), of["at"]
        elif "expected" in of:
            at = to or job["place"]
            stands = (None, of["expected"], at, None, None, None)
        else:
            start, at, last = book.index(row["start"]), to, None
            if "lead_days" in of:
                # The last date before that the shop works; where it works none in weeks, that date.
                last = start // 2 - of["lead_days"]
                last = next((d for d in range(last, last - 60, -1) if book.works_date(book.date(2 * d))), last)
            late = last is not None and last < book.now // 2
            stands = (None, None, None, True, last if last is None else book.date(2 * last).isoformat(), late)
        if at in (None, job["place"]):
            return stands, None
        drive = book.drive(at, job["place"])
        minutes = None if drive is None else drive + book.load
        cost = None if minutes is None else minutes * book.carry_minute * of.get("loads", 1) / 100
        return stands, {"place": at, "loads": of.get("loads", 1), "minutes": minutes, "cost": cost}


def judge(book, plan, lists):
    return Judge(book, plan, lists).breaches


def book_of(path, plan):
    """The book as of the plan's own now."""
    book = load(path, plan["from"], plan["weeks"])
    return load(path, plan["from"], plan["weeks"], book.index(plan["now"])) if "now" in plan else book


if __name__ == "__main__":
    paths = sys.argv[1:]
    with open(paths[1], encoding="utf-8") as file:
        of_plan = json.load(file)
    with open(paths[2], encoding="utf-8") as file:
        found = judge(book_of(paths[0], of_plan), of_plan, json.load(file))
    print("\n".join(found) or "the lists hold")
    sys.exit(bool(found))

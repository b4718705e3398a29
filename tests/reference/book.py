"""Reads a book into plain tables by half-day: rules T, W2, W3, W7, W9, W11 to W17, E5, E7 to E9, H2 to H6, N3 and the costs,
written apart from the planner."""

import datetime as dt
import fractions
import itertools
import json
import math

from part import later_of

DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def cents(dollars):
    return round(dollars * 100)


def who(row):
    """The crew of a row, and its helpers in any order: other ones are another crew (N3)."""
    return row["crew"], frozenset(row.get("with", []))


def load(path, start, weeks, now=0, kept=None):
    """`now` is an index; `kept` the plan last given to the crews, as stored."""
    with open(path, encoding="utf-8") as file:
        return Book(json.load(file), start, weeks, now, kept)


class Book:
    def __init__(self, raw, start, weeks, now=0, kept=None):
        self.now, self.known = now, {}
        self.raw, self.start, self.weeks, self.H = raw, dt.date.fromisoformat(start), weeks, 14 * weeks
        assert self.start.weekday() == 0, "a plan begins on a Monday"
        shop, prices, hauling = raw["shop"], raw.get("prices", {}), raw.get("hauling", {})
        self.hours = shop.get("half_day_hours", 4)
        self.work_days, self.closed = set(shop.get("work_days", DAYS[:5])), shop.get("closed", [])
        self.works = [self.shop_works(h) for h in range(self.H)]
        self.overtime_days = set(shop.get("overtime_days", []))
        self.overtime = [self.shop_works_over(h) for h in range(self.H)]
        self.change, self.notice = cents(prices.get("change", 60)), shop.get("notice_half_days", 6)
        self.change_same_date = cents(prices.get("change_same_date", prices.get("change", 60)))
        self.told_half_days = shop.get("told_half_days", math.inf)
        self.told_day, self.least_people = cents(prices.get("told_day", 80)), shop.get("min_people", 1)
        self.help_half_day, self.stop_minutes = cents(prices.get("help_half_day", 20)), shop.get("stop_minutes", 30)
        self.reserve_half_day, self.drive_minute = cents(prices.get("reserve_half_day", 60)), cents(prices.get("drive_minute", 0))
        self.noon_minutes = shop.get("noon_minutes", 60)
        self.overtime_half_day, self.come_back = cents(prices.get("overtime_half_day", 240)), cents(prices.get("return", 80))
        self.tow_minute, self.carry_minute = cents(prices.get("tow_minute", 1)), cents(prices.get("carry_minute", 0.25))
        self.extra_crew, self.wait = cents(prices.get("extra_crew", 150)), cents(prices.get("wait_half_day", 2))
        self.open_half_day = cents(prices.get("open_half_day", 0))
        self.usual_late_day = prices.get("late_day", 100)
        self.hitch, self.load = hauling.get("hitch_minutes", 30), hauling.get("load_minutes", 15)
        self.same = hauling.get("same_half_day_minutes", 120)
        by_id = lambda rows: {row["id"]: row for row in rows}
        self.places, self.roads, self.crews = by_id(raw["places"]), by_id(raw.get("roads", [])), by_id(raw["crews"])
        self.ranks = by_id(raw.get("ranks", []))
        self.trucks, self.units, self.jobs = by_id(raw["trucks"]), by_id(raw["equipment"]), by_id(raw["jobs"])
        self.power_kinds = {kind["id"] for kind in raw.get("kinds", []) if kind.get("power")}
        self.shared_kinds = {kind["id"] for kind in raw.get("kinds", []) if kind.get("shared")}
        self.people = {c: self.people_of(crew, self.works) for c, crew in self.crews.items()}
        either = [self.works[h] or self.overtime[h] for h in range(self.H)]
        self.people_over = {c: self.people_of(crew, either) for c, crew in self.crews.items()}
        self.kept = self.kept_of(kept or {})
        self.read_weather()
        self.road_closed = {p: [self.is_closed(p, h) for h in range(self.H)] for p in self.places}
        self.listed = {}
        for drive in raw.get("drives", []):
            self.listed[drive["from"], drive["to"]] = self.listed[drive["to"], drive["from"]] = drive["minutes"]
        self.later_jobs, self.later_steps = later_of(self)

    # Half-days and ranges of them, by index from the first Monday's am; negative before it.

    def date(self, h):
        return self.start + dt.timedelta(days=h // 2)

    def index(self, text):
        return 2 * (dt.date.fromisoformat(text[:10]) - self.start).days + text.endswith("pm")

    def text(self, h):
        return f"{self.date(h)} {'pm' if h % 2 else 'am'}"

    def span(self, written):
        """The first half-day and the last; infinity where the end is open."""
        first, slash, last = written.partition("/")
        if slash and not last:
            return self.index(first), math.inf
        last = last or first
        return self.index(first), self.index(last) + (len(last) == 10)

    def holds(self, when, h):
        """T4: a range in text, or an object with `on`; an `on` that is an object says all by itself."""
        row = {"on": when} if isinstance(when, str) else when
        if isinstance(row["on"], dict):
            return self.holds(row["on"], h)
        first, last = self.span(row["on"])
        day, half = DAYS[self.date(h).weekday()], ("am", "pm")[h % 2]
        return first <= h <= last and day in row.get("weekdays", DAYS) and row.get("half", half) == half

    def halves(self, ranges):
        known = json.dumps(ranges)
        if known not in self.known:
            self.known[known] = {h for h in range(self.H) if any(self.holds(when, h) for when in ranges)}
        return self.known[known]

    def last_date(self, entry):
        """The last date of which an entry says anything; None where there is none."""
        on = entry["on"]["on"] if isinstance(entry["on"], dict) else entry["on"]
        first, last = self.span(on)
        # A week back from the end shows every weekday and half.
        return next((self.date(h) for h in range(last, max(first, last - 13) - 1, -1) if self.holds(entry, h)), None)

    # T1, T2

    def shop_works(self, h):
        return DAYS[self.date(h).weekday()] in self.work_days and not any(self.holds(when, h) for when in self.closed)

    def shop_works_over(self, h):
        """W9: a half-day that only overtime works."""
        over = DAYS[self.date(h).weekday()] in self.overtime_days and not self.works[h]
        return over and not any(self.holds(when, h) for when in self.closed)

    def works_date(self, date):
        am = 2 * (date - self.start).days
        return self.shop_works(am) or self.shop_works(am + 1)

    def people_of(self, crew, works):
        only = self.halves(crew["only"]) if "only" in crew else range(self.H)
        people = [crew["people"] if works[h] and h in only else 0 for h in range(self.H)]
        for away in crew.get("away", []):
            for h in self.halves([away]):
                people[h] = max(0, people[h] - away.get("people", crew["people"]))
        return people

    # W7, H2: a later entry replaces, field by field; null takes a field back

    def read_weather(self):
        self.weather = {p: [{} for _ in range(self.H)] for p in self.places}
        self.last_report = {p: None for p in self.places}
        for entry in self.raw.get("weather", []):
            last = self.last_date(entry)
            for p in entry.get("at", self.places):
                self.last_report[p] = max((date for date in (self.last_report[p], last) if date), default=None)
                for h in self.halves([entry]):
                    for field in ("storm", "no_travel", "roads", "gust_mph", "low_f", "high_f", "rain"):
                        if field in entry:
                            self.weather[p][h][field] = entry[field]

    def is_closed(self, p, h):
        now, road, date = self.weather[p][h], self.places[p].get("road"), self.date(h)
        if now.get("storm") or now.get("no_travel") or now.get("roads") == "covered":
            return True
        if road is None or now.get("roads") == "clear":
            return False
        unreported = self.last_report[p] is None or date > self.last_report[p]
        if unreported and DAYS[date.weekday()] in self.roads[road].get("expect_clear", []):
            return False
        day = date.strftime("%m-%d")
        seasons = (season.split("/") for season in self.roads[road].get("no_trailers", []))
        return any(a <= day <= b if a <= b else day >= a or day <= b for a, b in seasons)

    # W2, W3, W11, W13 to W17

    def ways(self, step):
        """Every way with its id, duration, needs, extra, and help and min_people where any is given."""
        if "ways" not in step:
            return [dict({field: value for field, value in step.items() if field != "needs_power"}, id="usual", extra=0)]
        own = {field: step[field] for field in ("min_people", "help") if field in step}
        return [dict(dict(own, extra=0), **way) for way in step["ways"]]

    def own(self, crew):
        return self.crews[crew].get("own", True)

    def teams(self, way):
        """W11: who may do it, whatever they can do: a crew, and other own ones that help it. Nobody helps with a stop (W16)."""
        for crew in self.crews:
            others = [other for other in self.crews if other != crew and self.own(other)]
            most = way.get("help", 0) if self.own(crew) and "hours" not in way else 0
            for n in range(most + 1):
                for helpers in itertools.combinations(others, n):
                    yield crew, *helpers

    def present(self, team, h, overtime=False):
        """People of a crew and its helpers."""
        people = self.people_over if overtime else self.people
        return sum(people[crew][h] for crew in team)

    def at_work(self, team, h, overtime=False):
        """Those of a team that work in a half-day in which the step does."""
        return [crew for crew in team if self.present([crew], h, overtime) > 0]

    def missing(self, team, worked, overtime=False):
        """W11: the helpers of whom nobody is there in any of these half-days."""
        return frozenset(team[1:]) - {crew for h in worked for crew in self.at_work(team, h, overtime)}

    def help_cost(self, team, worked, overtime=False):
        """C11."""
        paid = 0
        for helper in team[1:]:
            named = helper in self.crews[team[0]].get("usual_with", []) or team[0] in self.crews[helper].get("usual_with", [])
            paid += 0 if named else sum(self.present([helper], h, overtime) > 0 for h in worked)
        return paid * self.help_half_day

    def at_once(self, crew):
        """W13: how many steps and stops a crew works on in a half-day, where it is more than one step, or stops."""
        n = self.crews[crew].get("at_once", 1)
        return n if n > 1 and not self.own(crew) else None

    def takes_of_half_day(self, way):
        """W16, in millionths of a minute; one stop alone always fits."""
        exact = lambda x: fractions.Fraction(str(x))
        return int(min(exact(way["hours"]) * 60 + self.stop_minutes, exact(self.hours) * 60) * 10**6)

    def half_day(self):
        """What stops may fill, in millionths of a minute: to a millionth of an hour."""
        return int(fractions.Fraction(str(self.hours)) * 60 * 10**6) + 60

    def least(self, step, crew, way):
        """W2, W17: the fewest people present; where nobody says, an own crew's are the shop's."""
        if "min_people" in way:
            return way["min_people"]
        return min(self.least_people, step.get("max_people", self.least_people)) if self.own(crew) else 1

    def expected(self, rows):
        """W14: the index from which on the waits of these let work start; infinity where one has no date."""
        waits = [wait for row in rows for wait in row.get("waits_on", [])]
        # L7: material on order is a wait by itself.
        waits += [of for row in rows for of in row.get("material", []) if "expected" in of]
        return max((self.index(wait["expected"]) if "expected" in wait else math.inf for wait in waits), default=-math.inf)

    def may_start(self, job, step, h):
        return h >= self.expected((job, step))

    def waits(self, job, step, h):
        """N1: work that has begun waits while a unit is out that it holds, or that is parked at its job; but for what comes
        after the step with which that is held last (E7)."""
        held = [row for row in job.get("parked", []) if self.held_now(job, row)]
        waits = [row for row in held if "to" not in row or not self.comes_after((job["id"], step["id"]), (job["id"], row["to"]))]
        parked = [unit for row in waits for unit in row.get("units", [])]
        return any(h in self.out(unit) for unit in parked + step.get("progress", {}).get("units", []))

    def held_now(self, job, need):
        """E7, N1: whether a job that has begun holds a parked need from now on."""
        step = lambda field: next((row for row in job["steps"] if row["id"] == need.get(field)), None)
        begun = lambda row: "done" in row or "progress" in row
        first, last = step("from"), step("to")
        return self.started(job) and (first is None or begun(first)) and (last is None or "done" not in last)

    def comes_after(self, step, other):
        """W6, directly or not; a step is its job's id and its own."""
        job = self.jobs[step[0]]
        before = self.links(job, next(k for k, row in enumerate(job["steps"]) if row["id"] == step[1]))
        return any((j, s) == other or self.comes_after((j, s), other) for j, s, _, _ in before)

    def workable(self, job, step, team, way, h, overtime=False):
        """By a crew and its helpers; the crew itself is there."""
        if not self.present(team[:1], h, overtime) or self.present(team, h, overtime) < self.least(step, team[0], way):
            return False
        return self.lets(job, step, h)

    def lets(self, job, step, h):
        """Access, what is out, and the weather."""
        for row in (job, step):
            if h in self.halves(row.get("no_access", [])) or ("earliest" in row and h < self.index(row["earliest"])):
                return False
        if self.waits(job, step, h):
            return False
        now = self.weather[job["place"]][h]
        gust, low, high = now.get("gust_mph"), now.get("low_f"), now.get("high_f")
        return not (
            now.get("no_travel")
            or (step.get("outside") and now.get("storm"))
            or (step.get("dry") and now.get("rain"))
            or ("max_gust_mph" in step and gust is not None and gust > step["max_gust_mph"])
            or ("min_low_f" in step and low is not None and low < step["min_low_f"])
            or ("max_high_f" in step and high is not None and high > step["max_high_f"])
        )

    def spell(self, job, step, team, way, first, left, overtime=False):
        """Half-days worked from `first` on, what is left after each, and whether the last leaves nothing."""
        worked, lefts = [], []
        most = step.get("max_people", math.inf)
        for h in range(first, self.H):
            if self.workable(job, step, team, way, h, overtime):
                left -= min(most, self.present(team, h, overtime)) * self.hours if "labor_hours" in way else 1
                worked.append(h)
                lefts.append(left)
                if left <= 1e-9:
                    return worked, lefts, True
        return worked, lefts, False

    def takes(self, way):
        return 1 if "hours" in way else way["half_days"] if "half_days" in way else way["labor_hours"]

    def runs(self, job, step, team, way, overtime=False):
        """start -> (end, half-days worked), for every start from which the step is done within the horizon."""
        runs = {}
        for start in range(self.now, self.H):
            if self.may_start(job, step, start) and self.workable(job, step, team, way, start, overtime):
                worked, _, enough = self.spell(job, step, team, way, start, self.takes(way), overtime)
                if enough:
                    runs[start] = (worked[-1], worked)
        return runs

    def wants(self, step, way, job, start):
        """The kinds held, one a unit; the power of E5 and E9 is None."""
        return self.units_of(way.get("needs", [])) + [None] * (self.power(step, way) if self.dark(job, start) else 0)

    def units_of(self, needs):
        """The kinds that needs take, one a unit; of a shared kind as many as the largest takes (E8)."""
        most = {need["kind"]: max(row.get("count", 1) for row in needs if row["kind"] == need["kind"]) for need in needs}
        one_each = [need for need in needs if need["kind"] not in self.shared_kinds]
        kinds = [need["kind"] for need in one_each for _ in range(need.get("count", 1))]
        return kinds + [kind for kind, n in most.items() if kind in self.shared_kinds for _ in range(n)]

    def shared(self, unit):
        return bool(set(self.units[unit]["kinds"]) & self.shared_kinds)

    def power(self, step, way):
        """E9: the way's own, else the step's; true is one unit, false none."""
        return int(way.get("needs_power", step.get("needs_power", 0)))

    def dark(self, job, start):
        power_from = self.places[job["place"]].get("power_from")
        return bool(power_from == "never" or (power_from and self.date(start) < dt.date.fromisoformat(power_from)))

    def away(self, job, step, way):
        """N1, W10: in progress, holding nothing of what it takes: its first span is over."""
        takes = way.get("needs", []) or (self.power(step, way) and self.dark(job, self.index(step["progress"]["start"])))
        return bool(step.get("may_split") and takes and not step["progress"].get("units"))

    def parked(self, job):
        """E3: the kinds parked at a job, one a unit."""
        return self.units_of(job.get("parked", []))

    def parked_needs(self, job):
        """E3, E7: what is parked at a job and the plan chooses the units of: (position, kind, count, from, to), steps or None;
        of one that has begun what it does not hold yet. Nothing is parked from a step that is later."""
        over = lambda row: any(step["id"] == row.get("to") and "done" in step for step in job["steps"])
        chosen = lambda row: not self.started(job) or not (self.held_now(job, row) or over(row))
        rows = [(n, row) for n, row in enumerate(job.get("parked", [])) if chosen(row) and not self.is_later(job, row.get("from"))]
        return [(n, row["kind"], row.get("count", 1), row.get("from"), row.get("to")) for n, row in rows]

    def parked_on(self, job, last):
        """E7: whether what is parked to this step, or to the latest end (None), is held to the horizon's end."""
        return self.is_later(job, last) if last else self.partly(job)

    def is_later(self, job, step):
        return (job["id"], step) in self.later_steps

    def serves(self, unit, want):
        kinds = set(self.units[unit]["kinds"])
        return bool(kinds & self.power_kinds) if want is None else want in kinds

    def links(self, job, k):
        """What a step comes after: [(job id, step id, wait, within or None)]."""
        step = job["steps"][k]
        if "after" not in step:
            return [(job["id"], job["steps"][k - 1]["id"], 0, None)] if k else []
        links = []
        for after in step["after"]:
            after = {"step": after} if isinstance(after, str) else after
            other, _, name = after["step"].rpartition("/")
            links.append((other or job["id"], name, after.get("wait_half_days", 0), after.get("within_half_days")))
        return links

    # H1 to H6, E4

    def towed(self, unit):
        return self.units[unit]["moves"] == "towed"

    def out(self, unit):
        return self.halves(self.units[unit].get("out", []))

    def can_haul(self, unit, p, q, h):
        """H1 to H3 and E4; trucks and minutes apart."""
        if not (self.works[h] or self.overtime[h]) or h in self.out(unit):
            return False
        if self.towed(unit):
            return not (self.road_closed[p][h] or self.road_closed[q][h])
        return not (self.weather[p][h].get("no_travel") or self.weather[q][h].get("no_travel"))

    def drive(self, p, q):
        """H6; None where the drive is not known."""
        drive = self.listed.get((p, q))
        if drive is None:
            if "at" not in self.places[p] or "at" not in self.places[q]:
                return None
            (a, b), (c, d) = (map(math.radians, self.places[x]["at"]) for x in (p, q))
            chord = math.sin((c - a) / 2) ** 2 + math.cos(a) * math.cos(c) * math.sin((d - b) / 2) ** 2
            drive = math.ceil(round(2 * 6371.0088 * math.asin(math.sqrt(chord)) * 1.3 / 50 * 60, 2))
        return drive

    def minutes(self, unit, p, q):
        """H5; None where the drive is not known."""
        drive = self.drive(p, q)
        return None if drive is None else drive + (self.hitch if self.towed(unit) else self.load)

    def haul_cost(self, unit, minutes):
        return minutes * (self.tow_minute if self.towed(unit) else self.carry_minute)

    def standing(self, unit, place, h, road=False):
        """C12 and C13 of a half-day in which a unit stands at a place, or is on the road from it."""
        if not self.works[h] or h < self.now:
            return 0
        facts = self.units[unit]
        stands = cents(self.places[place].get("stand_half_day", 0)) if self.towed(unit) else 0
        back = place == facts.get("hire_place") and not road
        return stands + (0 if back else cents(facts.get("hire_half_day", 0)))

    def dawns(self):
        """The half-days from now on with which a date begins that the shop works."""
        first = {}
        for h in range(self.H):
            if self.works[h]:
                first.setdefault(self.date(h), h)
        return [h for h in first.values() if h >= self.now]

    def late_price(self, by):
        return cents(by.get("late_day", self.usual_late_day))

    def home_late(self, unit, place, h):
        """C17 of a unit that is at a place as a date begins."""
        by = self.units[unit].get("home_by")
        return self.late_price(by) if by and place != by["place"] and self.date(h) > dt.date.fromisoformat(by["date"]) else 0

    def sites(self):
        """C18: the places to be cleared where no job is later, nor a step of one: (place, its jobs)."""
        for place, facts in self.places.items():
            jobs = [job for job in self.jobs.values() if job["place"] == place]
            partly = any((job["id"], step["id"]) in self.later_steps for job in jobs for step in job["steps"])
            if jobs and "clear_by" in facts and not partly and not any(self.later(job) for job in jobs):
                yield place, jobs

    def ended_before(self, place, h):
        """C18: the half-day before which all there must have ended, for what is there as a date begins to cost."""
        return h // 2 * 2 - 2 * self.places[place]["clear_by"]["days"]

    def last_done(self, job):
        return max((self.index(step["done"]["end"]) for step in job["steps"] if "done" in step), default=-math.inf)

    def weighs(self, unit):
        """Pounds, loaded, as far as that is entered."""
        facts = self.units[unit]
        return facts.get("weight_lb", 0) or facts.get("empty_lb", 0) + facts.get("contents_lb", 0)

    def unfit(self, truck, unit):
        """H4 and H7: why a truck may never take a unit."""
        row, facts, lb = self.trucks[truck], self.units[unit], self.weighs(unit)
        if lb > facts.get("rating_lb", lb):
            return "H7 heavier than its own rating"
        if not self.towed(unit):
            return "H7 heavier than the payload" if lb > row.get("payload_lb", lb) else None
        if lb > row.get("tow_lb", 0):
            return "H4 too heavy"
        if row.get("weight_lb", -math.inf) + lb > row.get("combined_lb", math.inf):
            return "H7 over the combined rating"
        if row.get("hitches") and facts.get("hitch", row["hitches"][0]) not in row["hitches"]:
            return "H7 another hitch"
        if facts.get("brakes") == "electric" and row.get("brake_control") is False:
            return "H7 no control of its brakes"
        return None

    def posted(self, p, h):
        """H8: the weights posted at a place in a half-day."""
        low, day = self.weather[p][h].get("low_f"), self.date(h).strftime("%m-%d")
        frozen = h % 2 == 0 and low is not None and low < 32
        for posting in self.roads.get(self.places[p].get("road"), {}).get("posted", []):
            a, b = posting["on"].split("/")
            if (a <= day <= b if a <= b else day >= a or day <= b) and not (frozen and posting.get("frozen_mornings")):
                yield posting["pounds"]

    def too_heavy(self, truck, unit, p, q, h):
        """H8: whether both together weigh more than what is posted at either end."""
        both = self.trucks[truck].get("weight_lb", 0) + self.weighs(unit)
        return any(both > pounds for end in (p, q) for pounds in self.posted(end, h))

    def capacity(self, truck, towed):
        row = self.trucks[truck]
        return (row.get("tows", 1) if row.get("tow_lb", 0) > 0 else 0) if towed else row.get("carries", 3)

    def truck_free(self, truck, h):
        """In overtime: that it may be used, where its crew works then."""
        row = self.trucks[truck]
        crew_there = row.get("crew") is None or self.people[row["crew"]][h] > 0
        there = crew_there if self.works[h] else self.overtime[h] and row.get("crew") is not None
        return there and h not in self.halves(row.get("out", []))

    # N1, N3

    def started(self, job):
        return any("done" in step or "progress" in step for step in job["steps"])

    def over(self, job):
        """Nothing is left to plan."""
        return all("done" in step for step in self.planned(job))

    def planned(self, job):
        """W12: the steps that are not later, those done too."""
        return [step for step in job["steps"] if not self.is_later(job, step["id"])]

    def partly(self, job):
        return len(self.planned(job)) < len(job["steps"])

    def kept_of(self, plan):
        """(job, step) -> ((crew, helpers), start, what a change costs, what one on the same date costs), for first spans that start
        from now on."""
        kept = {}
        for row in plan.get("steps", []):
            start = self.index(row["start"])
            if start >= self.now and row.get("span", 1) == 1:
                ahead = sum(self.shop_works(h) for h in range(self.now, start))
                times = 0 if ahead >= self.told_half_days else 2 if ahead < self.notice else 1
                kept[row["job"], row["step"]] = who(row), start, self.change * times, self.change_same_date * times
        return kept

    def changed(self, told, by, start):
        """C7 of a step that is done by a crew with its helpers from a start."""
        if told is None or told[:2] == (by, start):
            return 0
        same_date = told[0] == by and self.date(told[1]) == self.date(start)
        return told[3] if same_date else told[2]

    # C14, C15

    def may_work(self, crew, week):
        """How many of the week's half-days a crew may work without a charge; None: it keeps none open."""
        keeps, there = self.crews[crew].get("keep_open", 0), sum(self.people[crew][h] > 0 for h in week)
        return there - min(keeps, there) if keeps and self.own(crew) else None

    def weeks_charged(self):
        """The weeks that begin at or after now."""
        return [range(first, first + 14) for first in range(0, self.H, 14) if first >= self.now]

    def home(self, crew):
        """Where its rounds begin and end; None where they do not count."""
        return self.crews[crew].get("home") if self.drive_minute and self.own(crew) else None

    def round_cost(self, crew, am, pm):
        """From home to the place of its work in the am, in the pm (None: no work), and home; None where it cannot be driven."""
        places = [self.home(crew), *(place for place in (am, pm) if place is not None), self.home(crew)]
        legs = [0 if p == q else self.drive(p, q) for p, q in zip(places, places[1:])]
        too_far = None in legs or (am is not None and pm is not None and legs[1] > self.noon_minutes)
        return None if too_far else sum(legs) * self.drive_minute

    # W1, W14, C1, C2, C5, C10

    def later(self, job):
        return job["id"] in self.later_jobs

    def begins_later(self, job):
        early = "earliest" in job and self.index(job["earliest"]) >= self.H
        return not self.started(job) and (early or self.expected([job]) >= self.H)

    def worked_dates(self, first, last):
        """The dates that the shop works from a date to another, both included."""
        return sum(self.works_date(first + dt.timedelta(days=n)) for n in range((last - first).days + 1))

    def late_days(self, row, until):
        """Of a job or a step."""
        if "due" not in row:
            return 0
        return self.worked_dates(dt.date.fromisoformat(row["due"]) + dt.timedelta(days=1), until)

    def of_job(self, job, field, usual):
        """Ranks: the job's own, else its rank's, else what is usual."""
        rank = self.ranks[job["rank"]] if "rank" in job else {}
        return job.get(field, rank.get(field, usual))

    def late_day(self, job):
        return cents(self.of_job(job, "late_day", self.usual_late_day))

    def step_late(self, job, step, end):
        """C1 of a step with a due of its own."""
        day = cents(step["late_day"]) if "late_day" in step else self.late_day(job)
        return self.late_days(step, self.date(end)) * day

    def missed(self, step, start):
        """C10: what it costs that a step starts outside the dates told."""
        if "told" not in step or "done" in step or "progress" in step:
            return 0
        told, date, day = step["told"], self.date(start), dt.timedelta(days=1)
        first, last = dt.date.fromisoformat(told["from"]), dt.date.fromisoformat(told["to"])
        dates = self.worked_dates(last + day, date) if date > last else self.worked_dates(date, first - day)
        return dates * (cents(told["day"]) if "day" in told else self.told_day)

    def end_cost(self, job, end):
        late = 0 if self.partly(job) else self.late_days(job, self.date(end)) * self.late_day(job)
        return late + self.wait * max(end, 0)

    def left_out(self, job):
        last = self.date(self.H - 1)
        given = self.of_job(job, "left_out", None)
        if given is not None:
            return cents(given)
        if "due" not in job or dt.date.fromisoformat(job["due"]) > last:
            return 5 * self.late_day(job)
        return (20 + self.late_days(job, last)) * self.late_day(job)

"""Reads a book into plain tables by half-day: rules T, W2, W3, W7, W9, E5, H2 to H6, N3 and the costs, written apart from the planner."""

import datetime as dt
import json
import math

DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def cents(dollars):
    return round(dollars * 100)


def load(path, start, weeks, now=0, kept=None):
    """`now` is an index; `kept` the plan last given to the crews, as stored."""
    with open(path, encoding="utf-8") as file:
        return Book(json.load(file), start, weeks, now, kept)


class Book:
    def __init__(self, raw, start, weeks, now=0, kept=None):
        self.now = now
        self.raw, self.start, self.weeks, self.H = raw, dt.date.fromisoformat(start), weeks, 14 * weeks
        assert self.start.weekday() == 0, "a plan begins on a Monday"
        shop, prices, hauling = raw["shop"], raw.get("prices", {}), raw.get("hauling", {})
        self.hours = shop.get("half_day_hours", 4)
        self.work_days, self.closed = set(shop.get("work_days", DAYS[:5])), [self.span(r) for r in shop.get("closed", [])]
        self.works = [self.shop_works(h) for h in range(self.H)]
        self.overtime_days = set(shop.get("overtime_days", []))
        self.overtime = [self.shop_works_over(h) for h in range(self.H)]
        self.change, self.notice = cents(prices.get("change", 60)), shop.get("notice_half_days", 6)
        self.overtime_half_day, self.come_back = cents(prices.get("overtime_half_day", 240)), cents(prices.get("return", 80))
        self.tow_minute, self.carry_minute = cents(prices.get("tow_minute", 1)), cents(prices.get("carry_minute", 0.25))
        self.extra_crew, self.wait = cents(prices.get("extra_crew", 150)), cents(prices.get("wait_half_day", 2))
        self.usual_late_day = prices.get("late_day", 100)
        self.hitch, self.load = hauling.get("hitch_minutes", 30), hauling.get("load_minutes", 15)
        self.same = hauling.get("same_half_day_minutes", 120)
        by_id = lambda rows: {row["id"]: row for row in rows}
        self.places, self.roads, self.crews = by_id(raw["places"]), by_id(raw.get("roads", [])), by_id(raw["crews"])
        self.trucks, self.units, self.jobs = by_id(raw["trucks"]), by_id(raw["equipment"]), by_id(raw["jobs"])
        self.power_kinds = {kind["id"] for kind in raw.get("kinds", []) if kind.get("power")}
        self.people = {c: self.people_of(crew, self.works) for c, crew in self.crews.items()}
        either = [self.works[h] or self.overtime[h] for h in range(self.H)]
        self.people_over = {c: self.people_of(crew, either) for c, crew in self.crews.items()}
        self.kept = self.kept_of(kept or {})
        self.read_weather()
        self.road_closed = {p: [self.is_closed(p, h) for h in range(self.H)] for p in self.places}
        self.listed = {}
        for drive in raw.get("drives", []):
            self.listed[drive["from"], drive["to"]] = self.listed[drive["to"], drive["from"]] = drive["minutes"]

    # Half-days and ranges of them, by index from the first Monday's am; negative before it.

    def date(self, h):
        return self.start + dt.timedelta(days=h // 2)

    def index(self, text):
        return 2 * (dt.date.fromisoformat(text[:10]) - self.start).days + text.endswith("pm")

    def text(self, h):
        return f"{self.date(h)} {'pm' if h % 2 else 'am'}"

    def span(self, written):
        first, _, last = written.partition("/")
        last = last or first
        return self.index(first), self.index(last) + (len(last) == 10)

    def halves(self, ranges):
        return {h for r in ranges for h in range(max(self.span(r)[0], 0), min(self.span(r)[1], self.H - 1) + 1)}

    # T1, T2

    def shop_works(self, h):
        return DAYS[self.date(h).weekday()] in self.work_days and not any(a <= h <= b for a, b in self.closed)

    def shop_works_over(self, h):
        """W9: a half-day that only overtime works."""
        over = DAYS[self.date(h).weekday()] in self.overtime_days and not self.works[h]
        return over and not any(a <= h <= b for a, b in self.closed)

    def works_date(self, date):
        am = 2 * (date - self.start).days
        return self.shop_works(am) or self.shop_works(am + 1)

    def people_of(self, crew, works):
        only = self.halves(crew["only"]) if "only" in crew else range(self.H)
        people = [crew["people"] if works[h] and h in only else 0 for h in range(self.H)]
        for away in crew.get("away", []):
            for h in self.halves([away["on"]]):
                people[h] = max(0, people[h] - away.get("people", crew["people"]))
        return people

    # W7, H2: a later entry replaces, field by field; null takes a field back

    def read_weather(self):
        self.weather = {p: [{} for _ in range(self.H)] for p in self.places}
        self.last_report = {p: None for p in self.places}
        for entry in self.raw.get("weather", []):
            last = self.date(self.span(entry["on"])[1])
            for p in entry.get("at", self.places):
                self.last_report[p] = max(self.last_report[p] or last, last)
                for h in self.halves([entry["on"]]):
                    for field in ("storm", "no_travel", "roads", "gust_mph", "low_f", "rain"):
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

    # W2, W3

    def ways(self, step):
        """Every way with its id, duration, needs, min_people and extra."""
        if "ways" not in step:
            return [dict(step, id="usual", extra=0)]
        return [dict(dict(min_people=step.get("min_people", 1), extra=0), **way) for way in step["ways"]]

    def waits(self, job, step, h):
        """N1: work that has begun waits while a unit is out that it holds, or that is parked at its job."""
        begun = any("done" in row or "progress" in row for row in job["steps"])
        parked = [unit for row in job.get("parked", []) for unit in row.get("units", [])] if begun else []
        return any(h in self.out(unit) for unit in parked + step.get("progress", {}).get("units", []))

    def workable(self, job, step, crew, way, h, overtime=False):
        people = self.people_over if overtime else self.people
        if people[crew][h] < max(1, way.get("min_people", 1)):
            return False
        for row in (job, step):
            if h in self.halves(row.get("no_access", [])) or ("earliest" in row and h < self.index(row["earliest"])):
                return False
        if self.waits(job, step, h):
            return False
        now = self.weather[job["place"]][h]
        gust, low = now.get("gust_mph"), now.get("low_f")
        return not (
            now.get("no_travel")
            or (step.get("outside") and now.get("storm"))
            or (step.get("dry") and now.get("rain"))
            or ("max_gust_mph" in step and gust is not None and gust > step["max_gust_mph"])
            or ("min_low_f" in step and low is not None and low < step["min_low_f"])
        )

    def spell(self, job, step, crew, way, first, left, overtime=False):
        """Half-days worked from `first` on, what is left after each, and whether the last leaves nothing."""
        worked, lefts = [], []
        most, people = step.get("max_people", math.inf), self.people_over if overtime else self.people
        for h in range(first, self.H):
            if self.workable(job, step, crew, way, h, overtime):
                left -= 1 if "half_days" in way else min(most, people[crew][h]) * self.hours
                worked.append(h)
                lefts.append(left)
                if left <= 1e-9:
                    return worked, lefts, True
        return worked, lefts, False

    def takes(self, way):
        return way["half_days"] if "half_days" in way else way["labor_hours"]

    def runs(self, job, step, crew, way, overtime=False):
        """start -> (end, half-days worked), for every start from which the step is done within the horizon."""
        runs = {}
        for start in range(self.now, self.H):
            if self.workable(job, step, crew, way, start, overtime):
                worked, _, enough = self.spell(job, step, crew, way, start, self.takes(way), overtime)
                if enough:
                    runs[start] = (worked[-1], worked)
        return runs

    def wants(self, step, way, job, start):
        """The kinds held, one a unit; E5's power is None."""
        kinds = [need["kind"] for need in way.get("needs", []) for _ in range(need.get("count", 1))]
        return kinds + ([None] if step.get("needs_power") and self.dark(job, start) else [])

    def dark(self, job, start):
        power_from = self.places[job["place"]].get("power_from")
        return bool(power_from == "never" or (power_from and self.date(start) < dt.date.fromisoformat(power_from)))

    def away(self, job, step, way):
        """N1, W10: in progress, holding nothing of what it takes: its first span is over."""
        takes = way.get("needs", []) or (step.get("needs_power") and self.dark(job, self.index(step["progress"]["start"])))
        return bool(step.get("may_split") and takes and not step["progress"].get("units"))

    def parked(self, job):
        return [need["kind"] for need in job.get("parked", []) for _ in range(need.get("count", 1))]

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

    def minutes(self, unit, p, q):
        """H5, H6; None where the drive is not known."""
        drive = self.listed.get((p, q))
        if drive is None:
            if "at" not in self.places[p] or "at" not in self.places[q]:
                return None
            (a, b), (c, d) = (map(math.radians, self.places[x]["at"]) for x in (p, q))
            chord = math.sin((c - a) / 2) ** 2 + math.cos(a) * math.cos(c) * math.sin((d - b) / 2) ** 2
            drive = math.ceil(round(2 * 6371.0088 * math.asin(math.sqrt(chord)) * 1.3 / 50 * 60, 2))
        return drive + (self.hitch if self.towed(unit) else self.load)

    def haul_cost(self, unit, minutes):
        return minutes * (self.tow_minute if self.towed(unit) else self.carry_minute)

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
        return all("done" in step for step in job["steps"])

    def kept_of(self, plan):
        """(job, step) -> (crew, start, what a change costs), for first spans that start from now on."""
        kept = {}
        for row in plan.get("steps", []):
            start = self.index(row["start"])
            if start >= self.now and row.get("span", 1) == 1:
                notice = sum(self.shop_works(h) for h in range(self.now, start))
                kept[row["job"], row["step"]] = row["crew"], start, self.change * (2 if notice < self.notice else 1)
        return kept

    # W1, C1, C2, C5

    def later(self, job):
        return not self.started(job) and "earliest" in job and self.index(job["earliest"]) >= self.H

    def late_days(self, job, until):
        if "due" not in job:
            return 0
        due = dt.date.fromisoformat(job["due"])
        return sum(self.works_date(due + dt.timedelta(days=n)) for n in range(1, (until - due).days + 1))

    def late_day(self, job):
        return cents(job.get("late_day", self.usual_late_day))

    def end_cost(self, job, end):
        return self.late_days(job, self.date(end)) * self.late_day(job) + self.wait * max(end, 0)

    def left_out(self, job):
        last = self.date(self.H - 1)
        if "left_out" in job:
            return cents(job["left_out"])
        if "due" not in job or dt.date.fromisoformat(job["due"]) > last:
            return 5 * self.late_day(job)
        return (20 + self.late_days(job, last)) * self.late_day(job)

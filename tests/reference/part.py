"""Which jobs and steps are later (W1, W12, W14): the soonest end of every step, over and over until nothing changes."""

import math


def later_of(book):
    """The ids of later jobs, and (job, step) of the later steps of jobs done in part."""
    return Later(book).work_out()


class Later:
    def __init__(self, book):
        self.book = book
        self.steps = [(job, k, step) for job in book.jobs.values() for k, step in enumerate(job["steps"])]
        self.by_id = {(job["id"], step["id"]): (job, k, step) for job, k, step in self.steps}

    def in_part(self, job):
        return job.get("in_part", self.book.raw["shop"].get("in_part", False))

    def work_out(self):
        book = self.book
        whole = {j for j, job in book.jobs.items() if book.begins_later(job)}
        never = {(job["id"], step["id"]) for job, _, step in self.steps if self.unbegun(step) and self.at_no_date(job, step)}
        vain = whole | {j for j, _ in never}  # other jobs' steps wait for them in vain
        while True:
            ends = self.soonest_ends(vain)
            late = self.late(ends, never, whole)
            more = {j for j, job in book.jobs.items() if self.is_vain(job, ends, late)} - vain
            if not more:
                break
            vain |= more
        jobs = whole | {j for j, job in book.jobs.items() if self.in_part(job) and self.all_late(job, late)}
        return jobs, {(j, s) for j, s in late if j not in jobs}

    def unbegun(self, step):
        return "done" not in step and "progress" not in step

    def all_late(self, job, late):
        return not self.book.started(job) and all((job["id"], step["id"]) in late for step in job["steps"])

    def is_vain(self, job, ends, late):
        if self.in_part(job):
            return self.all_late(job, late)
        return any(ends[job["id"], step["id"]] is None for step in job["steps"] if "done" not in step)

    def soonest_ends(self, vain):
        ends = {}

        def end(j, s):
            if (j, s) not in ends:
                job, k, step = self.by_id[j, s]
                ends[j, s] = self.end(job, step, self.after(job, k, end, vain))
            return ends[j, s]

        for j, s in self.by_id:
            end(j, s)
        return ends

    def after(self, job, k, end, vain):
        """The index from which on a step may start; None where it waits in vain."""
        first = -math.inf
        if not self.unbegun(job["steps"][k]):
            return first
        for other, name, wait, _ in self.book.links(job, k):
            done = "done" in self.by_id[other, name][2]
            before = None if other != job["id"] and other in vain and not done else end(other, name)
            if before is None:
                # N1: what is started and planned whole waits for no other job that is not done.
                if other != job["id"] and self.book.started(job) and not self.in_part(job):
                    continue
                return None
            first = max(first, before + 1 + wait)
        return first

    def end(self, job, step, first):
        book = self.book
        if "done" in step:
            return book.index(step["done"]["end"])
        if first is None:
            return None
        found = []
        if "progress" in step:
            row = step["progress"]
            team = row["crew"], *row.get("with", [])
            ways = [way for way in book.ways(step) if way["id"] == row.get("way", way["id"])][:1]
            for way in ways:
                starts = range(book.now, book.H) if book.away(job, step, way) else [book.now]
                starts = [h for h in starts if len(starts) == 1 or book.workable(job, step, team, way, h)]
                spells = (book.spell(job, step, team, way, h, row["left"]) for h in starts)
                found += [worked[-1] for worked, _, enough in spells if enough]
        else:
            fixed = step.get("fixed", {})
            for team, way in self.choices(step):
                for start, (last, _) in book.runs(job, step, team, way).items():
                    if start >= first and fixed.get("start", book.text(start)) == book.text(start):
                        found.append(last)
        return min(found, default=None)

    def choices(self, step):
        """Who may do it, with helpers or without, in which way."""
        fixed = step.get("fixed", {})
        for way in self.book.ways(step):
            for team in self.book.teams(way):
                as_fixed = fixed.get("crew", team[0]) == team[0] and fixed.get("way", way["id"]) == way["id"]
                if as_fixed and step["skill"] in self.book.crews[team[0]]["skills"]:
                    yield team, way

    def at_no_date(self, job, step):
        """In no way are there both people enough, with all of them and of their helpers there, and units enough."""
        book, dark = self.book, self.book.places[job["place"]].get("power_from") == "never"
        for team, way in self.choices(step):
            wants = book.units_of(way.get("needs", [])) + [None] * (book.power(step, way) if dark else 0)
            enough = all(sum(book.serves(unit, want) for unit in book.units) >= wants.count(want) for want in wants)
            if enough and sum(book.crews[crew]["people"] for crew in team) >= max(1, book.least(step, team[0], way)):
                return False
        return True

    def late(self, ends, never, whole):
        may = {s for s, (job, _, step) in self.by_id.items() if s not in never and self.unbegun(step) and self.in_part(job)}
        late = {s for s in self.by_id if s[0] in whole or (s in may and ends[s] is None)}
        while True:
            before = len(late)
            for s, (job, k, step) in self.by_id.items():
                for other, name, _, within in self.book.links(job, k) if self.unbegun(step) else []:
                    if (other, name) in late and s in may:
                        late.add(s)
                    if s in late and within is not None and (other, name) in may:
                        late.add((other, name))
            if len(late) == before:
                return late

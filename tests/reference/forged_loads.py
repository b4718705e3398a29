"""Load lists with one thing wrong, each made of lists that hold: what is wrong -> (the rule that must be named, how it is made)."""

import copy

from loads import key_of, spot_of

FORGED = {}


def forged(rule, what):
    def keep(make):
        FORGED[what] = rule, make
        return make

    return keep


def at(judge, h):
    return judge.book.text(h)


@forged("L1", "one thing on two trucks")
def on_two(lists, judge):
    for n, move in enumerate(lists["moves"]):
        h = judge.book.index(move["at"])
        if move["when"] != "start" or "truck" not in move["to"] or move["by"].get("crew") is None:
            continue
        for of in judge.rounds.rounds[h, "start"]:
            if of.truck and of.truck != move["to"]["truck"] and judge.rounds.taken_up(spot_of(move["from"]), of, h, "start") is not None:
                lists["moves"].insert(n + 1, move | {"to": {"truck": of.truck}, "by": {"crew": of.crew, "truck": of.truck}})
                return True


@forged("L1", "a thing taken up where it is not")
def not_there(lists, judge):
    for move in lists["moves"]:
        for place in judge.book.places:
            if "place" in move["from"] and move["from"]["place"] != place:
                move["from"] = {"place": place}
                return True


@forged("L4", "a crew that does not pass there")
def another_crew(lists, judge):
    for move in lists["moves"]:
        h, moment, by = judge.book.index(move["at"]), move["when"], move["by"]
        going = {(of.crew, of.truck) for of in judge.rounds.rounds[h, moment]}
        for crew in judge.book.crews:
            if by.get("crew") not in (None, crew) and not any(of[0] == crew for of in going):
                move["by"] = {"crew": crew, "truck": None}
                return True


@forged("L4", "set down at a place that is not passed")
def not_passed(lists, judge):
    for n, move in reversed([*enumerate(lists["moves"])]):
        visits = {place for of in judge.rounds.rounds[judge.book.index(move["at"]), move["when"]] for place in of.visits}
        for place in judge.book.places:
            if move["when"] != "work" and "drive" not in move["by"] and "place" in move["to"] and place not in visits:
                move["to"] = {"place": place}
                return True


@forged("L4", "set down at a place that was passed before")
def passed_before(lists, judge):
    for up, down in zip(lists["moves"], lists["moves"][1:]):
        same = all(up[field] == down[field] for field in ("at", "when", "what", "by")) and up["by"].get("truck")
        h = judge.book.index(up["at"])
        for of in judge.rounds.rounds[h, up["when"]] if same and "place" in up["from"] else ():
            if (of.crew, of.truck) == (up["by"].get("crew"), up["by"]["truck"]) and up["from"]["place"] in of.visits:
                first = of.visits.index(up["from"]["place"])
                before = [place for place in of.visits[:first] if place not in of.visits[first:]]
                if before:
                    down["to"] = {"place": before[0]}
                    return True


@forged("L4", "put into a unit that another crew hauls")
def into_hauled(lists, judge):
    for move in lists["moves"]:
        h, moment = judge.book.index(move["at"]), move["when"]
        if moment == "work" or "place" not in move["to"] or "drive" in move["by"]:
            continue
        for (unit, when, how), row in judge.rounds.hauled.items():
            crew = judge.book.trucks[row["truck"]].get("crew")
            if (when, how) == (h, moment) and move["to"]["place"] in (row["from"], row["to"]) and crew != move["by"].get("crew"):
                move["to"] = {"unit": unit}
                return True


@forged("L4", "what was done later listed before")
def out_of_order(lists, judge):
    for n, (a, b) in enumerate(zip(lists["moves"], lists["moves"][1:])):
        if a["at"] != b["at"] and a["what"] != b["what"]:
            lists["moves"][n : n + 2] = [b, a]
            return True


@forged("L5", "a drive while nobody works")
def drive_on_sunday(lists, judge):
    for n, drive in enumerate(lists["drives"]):
        free = [h for h in range(judge.first, judge.until) if not judge.rounds.may_drive(h)]
        if free:
            drive["at"] = at(judge, free[0])
            return True


@forged("L5", "a drive from where the thing is not")
def drive_from_elsewhere(lists, judge):
    for drive in lists["drives"]:
        for place in judge.rounds.may_drive(judge.book.index(drive["at"])):
            if place not in (drive["from"], drive["to"]):
                drive["from"] = place
                return True


@forged("L6", "a drive with nothing on it")
def drive_for_nothing(lists, judge):
    for h in range(judge.first, judge.until):
        places, truck = judge.rounds.may_drive(h), next((truck for truck in judge.book.trucks if judge.book.truck_free(truck, h)), None)
        if len(places) > 1:
            crew = judge.book.trucks[truck].get("crew")
            lists["drives"].append({"at": at(judge, h), "from": places[0], "to": places[1], "truck": truck, "crew": crew, "minutes": None})
            return True


@forged("L6", "a want silently unmet")
def silent(lists, judge):
    for n, row in enumerate(lists["missing"]):
        if "kit" in row:
            del lists["missing"][n]
            return True


@forged("L7", "material silently missing")
def silent_material(lists, judge):
    for n, row in enumerate(lists["missing"]):
        if "material" in row:
            del lists["missing"][n]
            return True


@forged("L6", "a want met by nothing")
def by_nothing(lists, judge):
    for want in lists["wants"]:
        if want["met_by"]:
            want["met_by"].pop()
            return True


@forged("L6", "named missing though it is there")
def though_there(lists, judge):
    for want in lists["wants"]:
        same = lambda row: all(row.get(field) == want[field] for field in ("at", "crew", "place", "kit"))
        if want["met_by"] and not any(map(same, lists["missing"])):
            want["met_by"].pop()
            lists["missing"].append({field: want[field] for field in ("at", "crew", "place", "kit")} | {"short": 1})
            return True


@forged("L2", "a want left out")
def left_out(lists, judge):
    for n, want in enumerate(lists["wants"]):
        if want["met_by"]:
            del lists["wants"][n]
            return True


@forged("L2", "one thing for two wants at once")
def for_two(lists, judge):
    for a in lists["wants"]:
        for b in lists["wants"]:
            if a is not b and (a["at"], a["kit"]) == (b["at"], b["kit"]) and a["met_by"] and b["met_by"]:
                b["met_by"][0] = a["met_by"][0]
                return True


@forged("L2", "a want met by a thing that is elsewhere")
def from_elsewhere(lists, judge):
    for want in lists["wants"]:
        h = judge.book.index(want["at"])
        truck = judge.rounds.along(want["crew"], h)
        for key, item in judge.items.items():
            if want["met_by"] and item.kit == want["kit"] and not judge.present(key, h, want["place"], truck):
                want["met_by"][0] = {"thing": key[1]}
                return True


@forged("L7", "material moved before it has come")
def too_early(lists, judge):
    for key, item in judge.items.items():
        if item.since > judge.first:
            spot = dict([item.spot])
            early = {"at": at(judge, judge.first), "when": "start", "what": {"material": key[1], "position": key[2]}}
            lists["moves"].insert(0, early | {"from": spot, "to": spot, "by": {"crew": None, "truck": None}})
            return True


@forged("L7", "material ordered too late")
def order_later(lists, judge):
    for row in lists["material"]:
        if row.get("order_by", row["starts"][:10]) not in (None, row["starts"][:10]):
            row["order_by"] = row["starts"][:10]
            return True


@forged("L7", "material at another place for nothing")
def for_nothing(lists, judge):
    for row in lists["material"]:
        if "elsewhere" in row:
            del row["elsewhere"]
            return True


@forged("L8", "a thing left in the cold")
def in_the_cold(lists, judge):
    return lists["inside"] and lists["inside"].pop()


@forged("L8", "a thing left at a site")
def at_a_site(lists, judge):
    return lists["round_up"] and lists["round_up"].pop()


def needless(lists, judge):
    """A drive at the end that takes a thing which nobody wants elsewhere: played, all of it holds."""
    for h in reversed(range(judge.first, judge.until)):
        places, truck = judge.rounds.may_drive(h), next((truck for truck in judge.book.trucks if judge.book.truck_free(truck, h)), None)
        moved_later = {key_of(move["what"]) for move in lists["moves"] if judge.book.index(move["at"]) >= h}
        used = {key_of(what) for want in lists["wants"] if judge.book.index(want["at"]) >= h for what in want["met_by"]}
        for key, item in judge.items.items():
            spot = judge.where[key, h]
            if item.word or key in moved_later | used or item.wanted or "keep_above_f" in item.facts or spot is None or spot[0] != "place":
                continue
            to = [place for place in places if place != spot[1]]
            if spot[1] in places and to:
                crew = judge.book.trucks[truck].get("crew")
                drive = {"at": at(judge, h), "from": spot[1], "to": to[0], "truck": truck, "crew": crew, "minutes": None}
                lists["drives"].append(drive)
                move = {"at": at(judge, h), "when": "start", "what": {"thing": key[1]}, "from": dict([spot]), "to": {"place": to[0]}}
                lists["moves"].append(move | {"by": {"drive": len(lists["drives"]) - 1}})
                moments = ["start", "work", "evening"]
                lists["moves"].sort(key=lambda move: (move["at"], moments.index(move["when"])))
                others = [row for row in lists["round_up"] if key_of(row["what"]) != key]
                site = any(job["place"] == to[0] for job in judge.book.jobs.values()) and item.facts.get("home") != to[0]
                lists["round_up"] = others + ([{"what": {"thing": key[1]}, "place": to[0]}] if site else [])
                return True
    return False


def all_of(lists, judge):
    """What is wrong, the rule, and the lists, of each that can be made of these."""
    for what, (rule, make) in FORGED.items():
        copied = copy.deepcopy(lists)
        if make(copied, judge):
            yield what, rule, copied

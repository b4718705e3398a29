"""Proves the best cost of every case of rescheduling and of each topic (waits and words given, help, stops, days, jobs in part, costs,
equipment) with CP-SAT and HiGHS; exit 1 where one does not agree.

cases.py FOLDER    of the cases, with their index.json, and those of its folders
"""

import json
import sys

import model
from book import Book, cents

SECONDS = 60  # a case and solver


def prove(folder, case):
    with open(f"{folder}/{case['case']}.json", encoding="utf-8") as file:
        raw = json.load(file)
    now = Book(raw, case["from"], case["weeks"]).index(case["now"]) if "now" in case else 0
    program = model.build(Book(raw, case["from"], case["weeks"], now, case.get("kept")))
    return {"CP-SAT": model.cpsat(program, SECONDS), "HiGHS": model.highs(program, SECONDS)}


def cases_of(folder):
    with open(f"{folder}/index.json", encoding="utf-8") as file:
        return json.load(file)


def disagree(folder, cases, what):
    """How many cases cost something else than said; none at all is one too."""
    wrong = 0
    for case in cases:
        proved = prove(folder, case)
        if any(best != cents(case["best_cost"]) for best in proved.values()):
            wrong += 1
            told = ", ".join(f"{solver} {'proves nothing' if best is None else best / 100}" for solver, best in proved.items())
            print(f"FAIL {case['case']}: said to be {case['best_cost']}, {told}", flush=True)
    print(f"{len(cases)} cases of {what}, {wrong} not as said", flush=True)
    return wrong or not cases


def main(folder):
    again = disagree(folder, [case for case in cases_of(folder) if "needs" in case], "rescheduling")
    topics = ("waits", "help", "stops", "days", "in_part", "costs", "home", "ratings", "posted", "equipment")
    others = [disagree(f"{folder}/{topic}", cases_of(f"{folder}/{topic}"), topic.replace("_", " ")) for topic in topics]
    return 1 if again or any(others) else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))

"""Computes expected-N.csv from log.csv: the weekly figures of the first N jobs.

Knows nothing of the program: it reads what the made-up shop did and counts. Percentiles are
numpy's (method "linear"), amounts and shares decimal, working days Monday to Friday less the days the
shop is shut, as far as that was said by the end of the week.
"""

import csv
import datetime as dt
import sys
from collections import Counter, defaultdict
from decimal import ROUND_HALF_UP, Decimal

import numpy

GATES = ["intake", "parts", "fitting", "test-ride", "handover"]
# Hours planned by the trade for a light hub kit (common practice, no source), in minutes.
PLAN = {"intake": 30, "parts": 24, "fitting": 258, "test-ride": 54, "handover": 36}
FIRST = int(sys.argv[1])
calendar = {"shut": numpy.array([], dtype="datetime64[D]")}


def busdays(a, b):
    """Working days d with a < d <= b, negative the other way."""
    if b < a:
        return -busdays(b, a)
    one = dt.timedelta(1)
    return int(numpy.busday_count(a + one, b + one, holidays=calendar["shut"]))


def after(a, b):
    """Working days from a to b; at least one for a later day, whatever day it is."""
    return max(busdays(a, b), 1 if b > a else busdays(a, b))


def number(value):
    text = f"{Decimal(str(round(float(value), 2))):.2f}"
    return text.rstrip("0").rstrip(".")


def middle(values, percent):
    return number(numpy.percentile(values, percent)) if values else ""


def share(part, whole):
    if not whole:
        return ""
    return str((Decimal(100 * part) / whole).quantize(Decimal("0.1"), ROUND_HALF_UP))


def cents(value):
    return f"{Decimal(value) / 100:.2f}"


def at_cost(minutes):
    return int((Decimal(2400 * minutes) / 60).quantize(Decimal(1), ROUND_HALF_UP))


def new_job():
    return {"tries": [], "lines": [], "pays": [], "stints": [], "visits": [], "end": None, "moved": []}


jobs = defaultdict(new_job)
shelf, said_shut = [], []
for row in csv.DictReader(open("log.csv")):
    if int(row["job"]) > FIRST:
        continue
    at = dt.datetime.strptime(row["at"], "%Y-%m-%dT%H:%M:%SZ")
    event, x, y, z = row["event"], row["x"], row["y"], row["z"]
    if event == "shut":
        said_shut.append((at.date(), True, dt.date.fromisoformat(x), dt.date.fromisoformat(y)))
        continue
    if event == "open":
        said_shut.append((at.date(), False, dt.date.fromisoformat(x), dt.date.fromisoformat(x)))
        continue
    if event == "shelf-order":
        shelf.append({"supplier": x, "due": dt.date.fromisoformat(y), "came": []})
        continue
    if event == "shelf-come":
        shelf[int(x) - 1]["came"].append(at.date())
        continue
    if event == "shelf-move":
        continue  # the day promised first is what counts
    job = jobs[int(row["job"])]
    if event == "take-in":
        job["in"], job["promise"] = at.date(), dt.date.fromisoformat(y)
    elif event == "gate":
        job["tries"].append((at.date(), x, y, z))
        if x == "handover" and y == "pass":
            job["end"] = ("handed-over", at.date())
    elif event == "close":
        job["end"] = (x, at.date())
    elif event == "quote":
        job["lines"].append((x, int(y), int(z) if x != "labour" else 0))
    elif event == "pay":
        job["pays"].append((x, 0 if x == "all" else int(y)))
    elif event == "order":
        job["order"] = (x, dt.date.fromisoformat(y))
    elif event == "receive":
        job["came"] = at.date()
    elif event == "on":
        job["stints"].append([x, y, at, None, row["by"]])
    elif event == "off":
        next(s for s in job["stints"] if s[3] is None and s[4] == row["by"])[3] = at
    elif event == "fixclock":
        job["stints"][int(x) - 1][3] = dt.datetime.strptime(y, "%Y-%m-%dT%H:%M:%SZ")
    elif event == "promise":
        job["moved"].append((at.date(), dt.date.fromisoformat(x)))
    elif event == "visit":
        job["visits"].append((at.date(), x, y, z))

PARTS = 7  # lines of the made-up build
rows = []
monday = dt.date(2025, 1, 6)
last = max(day for job in jobs.values() for day, *_ in job["tries"]) + dt.timedelta(60)
while monday <= last:
    sunday = monday + dt.timedelta(6)

    def inside(day):
        return monday <= day <= sunday

    days_shut = set()
    for said, is_shut, begin, end in said_shut:
        if said <= sunday:
            days = {begin + dt.timedelta(n) for n in range((end - begin).days + 1)}
            days_shut = days_shut | days if is_shut else days_shut - days
    calendar["shut"] = numpy.array(sorted(days_shut), dtype="datetime64[D]")

    def put(section, row, **cells):
        for column, value in cells.items():
            rows.append([monday, section, row, column, value])

    handed = {n: j for n, j in jobs.items() if j["end"] and j["end"][0] == "handed-over" and inside(j["end"][1])}
    ended = Counter(j["end"][0] for j in jobs.values() if j["end"] and inside(j["end"][1]))
    leads = [busdays(j["in"], j["end"][1]) for j in handed.values()]
    house = [j for j in jobs.values() if j["in"] <= sunday and not (j["end"] and j["end"][1] <= sunday)]
    put("flow", 1, taken_in=sum(inside(j["in"]) for j in jobs.values()), handed_over=len(handed),
        returned=ended["returned"], cancelled=ended["cancelled"], in_house=len(house),
        lead_median_days=middle(leads, 50), lead_p85_days=middle(leads, 85))
    for row, gate in enumerate(GATES, 1):
        firsts = []
        for job in jobs.values():
            mine = [t for t in job["tries"] if t[1] == gate]
            if mine and inside(mine[0][0]):
                firsts.append(mine[0][2] == "pass")
        put("gates", row, gate=gate, tried=len(firsts), passed=sum(firsts), share=share(sum(firsts), len(firsts)))
    failing = Counter(t[3] for j in jobs.values() for t in j["tries"] if t[2] == "fail" and inside(t[0]))
    # The three most frequent, and whatever failed as often as the third of them.
    third = sorted(failing.values(), reverse=True)[:3][-1] if len(failing) >= 3 else 0
    most = [(check, times) for check, times in failing.items() if times >= third]
    for row, (check, times) in enumerate(sorted(most, key=lambda kv: (-kv[1], kv[0])), 1):
        put("failing", row, check=check, times=times)
    slips = [max(0, after(j["promise"], j["end"][1])) for j in handed.values()]
    good = sum(j["end"][1] <= j["promise"] for j in handed.values())
    put("promises", 1, promised=len(slips), on_time=good, share=share(good, len(slips)),
        slip_median_days=middle(slips, 50), slip_most_days=str(max(slips)) if slips else "",
        moved=sum(any(day != j["promise"] for _, day in j["moved"]) for j in handed.values()))
    ridden = [next((t[0] for t in j["tries"] if t[1] == "test-ride" and t[2] == "pass"), None) for j in jobs.values()]
    put("ridden", 1, rides=sum(day is not None and inside(day) for day in ridden))
    came = defaultdict(list)
    for job in jobs.values():
        if "came" in job and inside(job["came"]):
            came[job["order"][0]] += [max(0, after(job["order"][1], job["came"]))] * PARTS
    for line in shelf:
        days = [day for day in line["came"] if day <= sunday]
        if days and inside(days[-1]):
            came[line["supplier"]].append(max(0, after(line["due"], days[-1])))
    for row, (supplier, late) in enumerate(sorted(came.items()), 1):
        put("suppliers", row, supplier=supplier, lines=len(late), dated=len(late), on_time=late.count(0),
            share=share(late.count(0), len(late)), late_median_days=middle(late, 50), late_most_days=str(max(late)), went_back=0)
    for row, stage in enumerate(GATES, 1):
        spent = [0, 0]
        for job in jobs.values():
            for where, cause, begin, end, _ in job["stints"]:
                if where == stage and inside(end.date()):
                    spent[bool(cause)] += int((end - begin).total_seconds() + 30) // 60
        put("hours", row, stage=stage, minutes=spent[0], rework_minutes=spent[1])
    for row, stage in enumerate(GATES, 1):
        passed, spent = [], 0
        for job in jobs.values():
            first = next((t[0] for t in job["tries"] if t[1] == stage and t[2] == "pass"), None)
            if first and inside(first):
                passed.append(job)
                for where, cause, begin, end, _ in job["stints"]:
                    if where == stage and not cause and end.date() <= sunday:
                        spent += int((end - begin).total_seconds() + 30) // 60
        planned = PLAN[stage] * len(passed)
        put("plan", row, stage=stage, jobs=len(passed), plan_minutes=planned, minutes=spent, share=share(spent, planned))
    left = []
    for n, job in handed.items():
        price = sum(p for _, p, _ in job["lines"]) - sum(a for k, a in job["pays"] if k == "credit")
        parts = sum(c for k, _, c in job["lines"] if k != "part-rework")
        minutes, again = 0, 0
        for _, cause, begin, end, _ in job["stints"]:
            spent = int((end - begin).total_seconds() + 30) // 60
            minutes, again = (minutes, again + spent) if cause else (minutes + spent, again)
        rework = at_cost(again) + sum(c for k, _, c in job["lines"] if k == "part-rework")
        order = ["brief", "fit", "part", "our-work", "supplier", "rider", "wear"]
        causes = sorted({c for _, c, _, _, _ in job["stints"] if c}, key=order.index)
        labour = at_cost(minutes)
        left.append((price - parts - labour - rework, n, price, parts, labour, rework, minutes + again, causes))
    for row, (rest, n, price, parts, labour, rework, spent, causes) in enumerate(sorted(left), 1):
        put("contribution", row, job=n, price=cents(price), tax=cents(0), parts=cents(parts), labour=cents(labour),
            rework=cents(rework), contribution=cents(rest), minutes=spent, causes=", ".join(causes))
    back = [(n, v, j) for n, j in sorted(jobs.items()) for v in j["visits"] if inside(v[0])]
    for row, (n, (day, cause, payer, words), job) in enumerate(back, 1):
        put("returns", row, job=n, days=(day - job["end"][1]).days, cause=cause, payer=payer, symptom=words)
    monday += dt.timedelta(7)

with open(f"expected-{FIRST}.csv", "w", newline="") as file:
    out = csv.writer(file, lineterminator="\n")
    out.writerow(["week", "section", "row", "column", "value"])
    out.writerows(rows)

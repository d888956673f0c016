"""Writes log.csv: a made-up year of a made-up shop, 300 jobs, from a seeded generator.

Columns: at (UTC), job, by, event, x, y, z. Amounts in hundredths. figures.py computes the
expected reports from that log alone; the test drives the same log through the real daemon.
"""

import csv
import datetime as dt
import random

random.seed(20250101)
JOBS = 300
log = []


# Days shut: when that was said, first day, last day. One is said days before, one is a chain over a
# weekend and taken back in part, and the year's end is one too.
SHUT = [
    ("2025-01-06", "2025-02-06", "2025-02-11"),
    ("2025-01-06", "2025-04-18", "2025-04-21"),
    ("2025-01-27", "2025-01-31", "2025-01-31"),
    ("2025-03-03", "2025-05-01", "2025-05-02"),
    ("2025-06-02", "2025-08-11", "2025-08-22"),
    ("2025-11-03", "2025-12-24", "2026-01-02"),
]
OPENED = ("2025-01-20", "2025-02-11")


def day_of(text):
    return dt.date.fromisoformat(text)


closed = set()
for said, first, last in SHUT:
    log.append([dt.datetime.combine(day_of(said), dt.time(7, 30)), 0, "O", "shut", first, last, ""])
    for days in range((day_of(last) - day_of(first)).days + 1):
        closed.add(day_of(first) + dt.timedelta(days))
log.append([dt.datetime.combine(day_of(OPENED[0]), dt.time(7, 40)), 0, "O", "open", OPENED[1], "", ""])
closed.discard(day_of(OPENED[1]))


def is_worked(day):
    return day.weekday() < 5 and day not in closed


def workday(day, shift=0):
    """The working day `shift` working days after `day`, or the next one if that is none."""
    while not is_worked(day):
        day += dt.timedelta(1)
    while shift > 0:
        day += dt.timedelta(1)
        if is_worked(day):
            shift -= 1
    return day


class Job:
    def __init__(self, number, day):
        self.number, self.day, self.minute, self.clock = number, day, 0, 0

    def next_day(self, days):
        if days > 0:
            self.day, self.minute = workday(self.day, days), 0

    def put(self, by, event, x="", y="", z=""):
        self.minute += random.randint(1, 4)
        hour = 8 * 60 + self.minute
        at = dt.datetime(self.day.year, self.day.month, self.day.day, hour // 60, hour % 60, self.number % 60)
        log.append([at, self.number, by, event, x, y, z])

    def work(self, by, stage, minutes, cause=""):
        self.put(by, "on", stage, cause)
        self.clock += 1
        if random.random() < 0.05:
            # Forgotten, and put right the same evening.
            self.minute += minutes
            end = log[-1][0] + dt.timedelta(minutes=minutes)
            self.put(by, "fixclock", str(self.clock), end.strftime("%Y-%m-%dT%H:%M:%SZ"))
        else:
            self.minute += minutes
            self.put(by, "off")

    def work_together(self, stage, minutes):
        """Two people on one job at a time; the second one stays longer, or goes first."""
        self.put("K", "on", stage)
        self.put("L", "on", stage)
        self.clock += 2
        self.minute += minutes
        first, second = random.choice(["KL", "LK"])
        self.put(first, "off")
        self.minute += random.randint(0, 40)
        self.put(second, "off")

    def move_promise(self, promise):
        """Moves the promised day, seldom twice; the rider mostly hears of it."""
        for _ in range(random.choice([1, 1, 1, 2])):
            promise = workday(promise, random.randint(1, 8))
            self.put("O", "promise", promise.isoformat())
        if random.random() < 0.7:
            self.put("O", "told")

    def gate(self, gate, fault, check):
        """Tries a gate; with a fault it stays shut, is cured a day later and tried again."""
        if fault:
            self.put("K", "gate", gate, "fail", check)
            self.next_day(random.randint(1, 3))
            if gate in ("fitting", "test-ride"):
                self.work("K", gate, random.randint(10, 90), random.choice(["fit", "part", "our-work"]))
                if random.random() < 0.4:
                    cost = random.randint(500, 9000)
                    self.put("O", "quote", "part-rework", str(random.choice([0, cost])), str(cost))
            self.put("K", "fix", fault)
        self.put("K", "gate", gate, "pass")


def pick(chance, faults):
    return random.choice(faults) if random.random() < chance else ("", "")


day = dt.date(2025, 1, 6)
for number in range(1, JOBS + 1):
    job = Job(number, workday(day))
    promise = workday(job.day, random.randint(12, 22))
    fault, check = pick(0.2, [("mass", "mass.margin"), ("pads", "donor.wear")])
    job.put("O", "take-in", f"Rider {number}", promise.isoformat(), fault)
    job.work("O", "intake", random.randint(20, 70))
    price = random.randint(60_000, 160_000)
    job.put("O", "quote", "part", str(price), str(price * random.randint(62, 74) // 100))
    job.put("O", "quote", "labour", str(58 * 5 * random.randint(60, 110)), "300")
    job.gate("intake", fault, check)
    if random.random() < 0.04:
        job.put("O", "close", "cancelled")
    else:
        job.put("O", "pay", "deposit", str(random.randint(20_000, 50_000)))
        supplier = random.choice("MMNS")
        due = workday(job.day, random.randint(3, 10))
        job.put("O", "order", supplier, due.isoformat())
        slip = random.choice([-1, 0, 0, 0, 0, 0, 1, 2, 5, 9]) + (2 if supplier == "S" else 0)
        came = max(workday(job.day, 1), workday(due, slip) if slip >= 0 else due - dt.timedelta(1))
        job.day, job.minute = workday(came), 0
        fault, check = pick(0.08, [("nopapers", "pack.papers")])
        job.put("K", "receive", fault)
        job.work("K", "parts", random.randint(10, 40))
        job.gate("parts", fault, check)
        if random.random() < (0.5 if slip > 1 else 0.1):
            job.move_promise(promise)
        job.next_day(random.randint(1, 4))
        if random.random() < 0.03:
            job.work("K", "fitting", random.randint(20, 90))
            job.put("O", "pay", "refund", "10000")
            job.put("O", "close", "returned")
        else:
            fault, check = pick(0.18, [("cutoff", "brakes.lever_cutoff"), ("magnet", "wheel.clearances")])
            if random.random() < 0.3:
                job.work_together("fitting", random.randint(90, 170))
            else:
                job.work("K", "fitting", random.randint(180, 330))
            job.put("K", "bench", fault)
            job.gate("fitting", fault, check)
            job.next_day(1)
            fault, check = pick(0.22, [("codes", "ride.fault_codes"), ("hill", "ride.hill_speed")])
            job.work("L", "test-ride", random.randint(40, 90))
            job.put("L", "ride", fault)
            job.gate("test-ride", fault, check)
            job.next_day(random.randint(0, 3))
            # Within the thirty days that the trade allows, whatever days are shut.
            check_day = job.day + dt.timedelta(21)
            job.put("O", "final", check_day.isoformat())
            if random.random() < 0.15:
                job.put("O", "gate", "handover", "fail", "handover.balance")
                job.next_day(random.randint(1, 2))
            if random.random() < 0.05:
                job.put("O", "pay", "credit", str(random.randint(100, 2_000)))
            job.put("O", "pay", "all")
            job.work("O", "handover", random.randint(20, 50))
            job.put("O", "gate", "handover", "pass")
            if random.random() < 0.15:
                job.next_day(random.randint(10, 40))
                job.put("K", "visit", random.choice(["our-work", "part", "wear"]), random.choice(["shop", "supplier", "rider"]), "cuts out in rain")
    day += dt.timedelta(random.choice([0, 1, 1, 1, 2]))

# What is ordered for the shelf: some of it comes in two deliveries, some is promised for another day.
day = dt.date(2025, 1, 7)
for line in range(1, 19):
    shelf = Job(0, workday(day))
    shelf.minute = 300 + 10 * line
    due = workday(shelf.day, random.randint(4, 9))
    count = random.randint(2, 8)
    supplier = random.choice("NST")
    shelf.put("O", "shelf-order", supplier, due.isoformat(), str(count))
    came = workday(due, random.choice([0, 0, 1, 3]))
    if came > due and random.random() < 0.5:
        shelf.day, shelf.minute = due, 300 + 10 * line
        shelf.put("O", "shelf-move", str(line), came.isoformat())
    shelf.day, shelf.minute = came, 400 + line
    part = random.randint(1, count - 1) if random.random() < 0.4 else count
    shelf.put("K", "shelf-come", str(line), str(part))
    if part < count:
        shelf.day = workday(came, random.randint(2, 9))
        shelf.put("K", "shelf-come", str(line), str(count - part))
    day += dt.timedelta(random.randint(12, 24))

log.sort(key=lambda row: (row[0], row[1]))
# Jobs are numbered as they come in, which the sorting may have changed for jobs of one minute.
numbers = {0: 0}
for row in log:
    numbers.setdefault(row[1], len(numbers))
# Nobody works on two bicycles at once: whoever is on at another already has somebody else do it.
at_work, does = {}, {}
for row in log:
    _, job, by, event, *_ = row
    if event == "on":
        hand = next(hand for hand in [by, *(f"H{chr(65 + number)}" for number in range(26))] if hand not in at_work)
        at_work[hand], does[job, by] = job, hand
    if event in ("on", "off", "fixclock"):
        row[2] = does[job, by]
    if event in ("off", "fixclock"):
        del at_work[does.pop((job, by))]
with open("log.csv", "w", newline="") as file:
    out = csv.writer(file, lineterminator="\n")
    out.writerow(["at", "job", "by", "event", "x", "y", "z"])
    for at, job, *rest in log:
        out.writerow([at.strftime("%Y-%m-%dT%H:%M:%SZ"), numbers[job], *rest])

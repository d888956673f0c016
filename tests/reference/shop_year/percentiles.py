"""Writes percentiles.csv: percentiles of small samples by numpy's default method."""

import csv
import random

import numpy

random.seed(1996)
with open("percentiles.csv", "w", newline="") as file:
    out = csv.writer(file, lineterminator="\n")
    out.writerow(["values", "percent", "expected"])
    for size in range(1, 25):
        values = [random.randint(-3, 40) for _ in range(size)]
        for percent in (0, 50, 85, 100):
            expected = numpy.percentile(values, percent)
            out.writerow([" ".join(map(str, values)), percent, repr(float(round(expected, 9)))])

"""Winding and case temperature over time, integrated step by step with scipy's DOP853.

Written from the heat balance alone; shares no code with the crate. Run: python3 course.py > course.csv
"""
import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

ALPHA = 0.00393
# name, Rwc, Rca, Cw, Cc, I, R20, P_winding, P_case, T_air, Tw0, Tc0, limit (K/W, J/K, A, ohm, W, deg C)
CASES = [
    ("servo_6.8A", 1.85, 1.3, 123 / 1.85, 1060 / 1.3, 6.8, 0.365, 0.0, 0.0, 25.0, 25.0, 25.0, 125.0),
    ("servo_13.6A", 1.85, 1.3, 123 / 1.85, 1060 / 1.3, 13.6, 0.365, 0.0, 0.0, 25.0, 25.0, 25.0, 125.0),
    ("servo_9A_iron", 1.85, 1.3, 123 / 1.85, 1060 / 1.3, 9.0, 0.365, 0.0, 6.0, 25.0, 25.0, 25.0, 125.0),
    ("hub_cold_day", 0.45, 0.55, 420.0, 4200.0, 30.0, 0.11, 0.0, 18.0, -5.0, -5.0, -5.0, 110.0),
    ("hub_runaway", 0.45, 0.55, 420.0, 4200.0, 50.0, 0.11, 0.0, 10.0, 25.0, 25.0, 25.0, 110.0),
    ("cooling", 0.45, 0.55, 420.0, 4200.0, 0.0, 0.11, 0.0, 0.0, 20.0, 105.0, 60.0, 110.0),
    ("hot_case", 0.45, 0.55, 420.0, 4200.0, 12.0, 0.11, 4.0, 2.0, 20.0, 25.0, 80.0, 60.0),
]


def rhs(case):
    _, rwc, rca, cw, cc, i, r20, pw, pc, ta = case[:10]

    def f(_, y):
        copper = i * i * r20 * (1 + ALPHA * (y[0] - 20.0)) + pw
        between = (y[0] - y[1]) / rwc
        return [(copper - between) / cw, (pc + between - (y[1] - ta) / rca) / cc]

    return f


print("name,Rwc,Rca,Cw,Cc,I,R20,Pw,Pc,air,Tw0,Tc0,limit,t,Tw,Tc,reaches")
for case in CASES:
    f, y0 = rhs(case), case[10:12]
    limit = case[12]
    # The runaway case passes any temperature; stop all cases at one hour and look there for the crossing.
    solved = solve_ivp(f, (0.0, 3600.0), y0, method="DOP853", rtol=1e-13, atol=1e-11, dense_output=True)
    grid = np.linspace(0.0, 3600.0, 36001)
    over = np.nonzero(solved.sol(grid)[0] >= limit)[0]
    reach = ""
    if len(over) and over[0] > 0:
        reach = "%.9f" % brentq(lambda t: solved.sol(t)[0] - limit, grid[over[0] - 1], grid[over[0]], xtol=1e-12)
    for t in (1.0, 30.0, 300.0, 3600.0):
        end = solve_ivp(f, (0.0, t), y0, method="DOP853", rtol=1e-13, atol=1e-11).y[:, -1]
        print(",".join([case[0]] + [repr(float(x)) for x in case[1:]] + [repr(t), "%.9f" % end[0], "%.9f" % end[1], reach]))

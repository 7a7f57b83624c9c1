"""Charging of a cell by a general-purpose solver of differential equations.

Values for the checks of `charge-time`, from scipy.integrate.solve_ivp (method
DOP853, rtol 1e-12, events for the ends of the phases). It integrates charge,
stored energy, heat and energy from the supply, knowing nothing of the closed
forms that Ohmbook uses. Run with any Python 3 that has scipy and numpy:

    python3 charge_time.py
"""

import numpy as np
import scipy
from scipy.integrate import solve_ivp


def course(capacity, states, voltages, resistance, current, voltage, termination,
           precharge=None, start=0.0, supply=0.0, target=0.8):
    slope = (voltages[-1] - voltages[-2]) / (states[-1] - states[-2])

    def open_circuit(s):
        if s > states[-1]:
            return voltages[-1] + slope * (s - states[-1])
        return np.interp(s, states, voltages)

    def phase(law, y, ends):
        def f(_, y):
            i, u = law(y[0]), open_circuit(y[0])
            return [i / capacity, u * i, i * i * resistance, supply * i]

        def end(_, y):
            return ends(y[0])

        def at_target(_, y):
            return y[0] - target

        end.terminal = True
        # The table has corners, so no step may go over many of them.
        got = solve_ivp(f, (0, 1e6), y, method="DOP853", rtol=1e-12, atol=1e-12,
                        max_step=2.0, events=[end, at_target])
        reached = got.t_events[1][0] if len(got.t_events[1]) else None
        return got.t[-1], got.y[:, -1], reached

    y, total, found, times = [start, 0.0, 0.0, 0.0], 0.0, None, {}
    laws = [("constant current", lambda s: current,
             lambda s: open_circuit(s) + current * resistance - voltage),
            ("constant voltage", lambda s: (voltage - open_circuit(s)) / resistance,
             lambda s: (voltage - open_circuit(s)) / resistance - termination)]
    if precharge:
        i, below = precharge
        laws.insert(0, ("precharge", lambda s: i,
                        lambda s: open_circuit(s) + i * resistance - below))
    for name, law, ends in laws:
        if ends(y[0]) * (-1 if name == "constant voltage" else 1) >= 0:
            continue
        t, y, reached = phase(law, y, ends)
        times[name] = t
        if reached is not None:
            found = total + reached
        total += t
    return times, dict(total=total, target=found, final=y[0],
                       stored=y[1], heat=y[2], supply=y[3])


CASES = {
    "small cell": dict(capacity=0.2 * 3600, states=np.linspace(0, 1, 11),
                       voltages=[3.0, 3.45, 3.58, 3.65, 3.7, 3.75, 3.82, 3.92, 4.02, 4.1, 4.2],
                       resistance=0.25, current=0.1, voltage=4.2, termination=0.01,
                       precharge=(0.01, 3.0 + 0.1), supply=5.0),
    "larger cell": dict(capacity=1.2 * 3600, states=[0, 0.05, 0.2, 0.5, 0.8, 0.95, 1],
                        voltages=[3.0, 3.4, 3.6, 3.75, 4.0, 4.12, 4.2],
                        resistance=0.18, current=0.5, voltage=4.22, termination=0.05,
                        start=0.1, supply=6.0),
    "a flat table": dict(capacity=0.6 * 3600, states=[0, 0.1, 0.9, 1],
                         voltages=[2.8, 3.3, 3.3, 3.6],
                         resistance=0.5, current=0.7, voltage=3.6, termination=0.03),
}

if __name__ == "__main__":
    print("scipy", scipy.__version__, "numpy", np.__version__)
    for name, case in CASES.items():
        times, sums = course(**case)
        print(name)
        for key, value in [*times.items(), *sums.items()]:
            print(f"  {key:18} {value:.10g}")

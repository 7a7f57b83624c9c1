"""When a capacitor that charges from a rising supply reaches its threshold.

Integrates C dv/dt = (u(t) - v) / R with scipy.integrate.solve_ivp, where u
rises in a straight line. Its output is in src/trade/reset_delay.rs.
"""

from scipy.integrate import solve_ivp

END, THRESHOLD, TAU = 3.3, 2.31, 10e3 * 100e-9


def delay(rise):
    def slope(t, v):
        return [(min(t / rise, 1.0) * END - v[0]) / TAU]

    def reached(t, v):
        return v[0] - THRESHOLD

    reached.terminal = True
    # In two pieces, so that the kink of the supply lies between steps.
    first = solve_ivp(slope, (0, rise), [0.0], "DOP853", events=reached, rtol=1e-12, atol=1e-14)
    if first.t_events[0].size:
        return first.t_events[0][0]
    second = solve_ivp(
        slope, (rise, 1.0), first.y[:, -1], "DOP853", events=reached, rtol=1e-12, atol=1e-14,
        max_step=TAU,
    )
    return second.t_events[0][0]


for rise in (1e-3, 10e-3):
    print(f"{rise:g} s: {delay(rise):.10g} s")

"""Signals through rotation and gains: reference vectors.

Source: none published. DERIVED by plane rotation and scaling with a separate prototype; UNCERTAINTY's first row was
also checked by a 400,000-draw Monte Carlo (u of amplitude 0.000436, of phase 0.6127°). Six to nine digits printed.
"""

RS, SR = "rotate-then-scale", "scale-then-rotate"

# horizontal, vertical, rotation °, horizontal gain dB, vertical gain dB, order, real, imaginary, amplitude, phase °
UNDONE = [
    (3.0, 4.0, 0, 0, 0, RS, 3.0, 4.0, 5.0, 53.1301),
    (3.0, 4.0, 0, 6, 6, RS, 1.5035617, 2.00474893, 2.50593617, 53.1301),
    (3.0, 4.0, 30, 0, 0, RS, 4.59807621, 1.96410162, 5.0, 23.1301),
    (3.0, 4.0, 30, 0, 0, SR, 4.59807621, 1.96410162, 5.0, 23.1301),
    (3.0, 4.0, 30, 40, 52, RS, 0.031004535, -0.00629857016, 0.031637844, -11.48336),
    (3.0, 4.0, 30, 40, 52, SR, 0.0459807621, 0.0049336002, 0.0462446851, 6.124238),
    (-2.0, 1.5, 215, 48, 54, RS, 0.00480555288, -0.00701853265, 0.00850606484, -55.60076),
    (-2.0, 1.5, 215, 48, 54, SR, 0.00309703267, -0.0047405057, 0.00566250878, -56.8429),
    (-5.0, 0.2, -15, 50, 62, RS, -0.0153137458, -0.00393883599, 0.0158121864, -165.5757),
    (-5.0, 0.2, -15, 50, 62, SR, -0.0154363198, -0.000874483945, 0.0154610702, -176.7576),
]

# seen (horizontal, vertical, rotation, gains), shown anew at (rotation, gains), order, horizontal, vertical
SHOWN_ANEW = [
    ((3.0, 4.0, 30, 40, 52), (30, 40, 52), RS, 3.0, 4.0),
    ((3.0, 4.0, 30, 40, 52), (45, 40, 46), RS, 2.637728, 3.485674),
    ((3.0, 4.0, 30, 40, 52), (45, 40, 46), SR, 2.555267, 3.947395),
    ((-2.0, 1.5, 215, 48, 54), (200, 50, 50), RS, -2.187101, 1.565855),
    ((-2.0, 1.5, 215, 48, 54), (200, 50, 50), SR, -1.433020, 1.073710),
]

# reading, baseline (each horizontal, vertical, rotation, gains), order, deviation dB, deviation °
DEVIATIONS = [
    ((3.0, 4.0, 30, 46, 58), (3.0, 4.0, 30, 40, 52), RS, -6.0, 0.0),
    ((3.0, 4.0, 30, 46, 58), (3.0, 4.0, 30, 40, 52), SR, -6.0, 0.0),
    ((2.4, 4.4, 30, 40, 52), (3.0, 4.0, 30, 40, 52), RS, -1.564629, 6.210027),
    ((2.4, 4.4, 30, 40, 52), (3.0, 4.0, 30, 40, 52), SR, -0.574651, 2.589297),
    ((-4.9, 0.3, 10, 50, 60), (-5.0, -0.3, 10, 50, 60), RS, -0.175414, -2.196139),
    ((-4.9, 0.3, 10, 50, 60), (-5.0, -0.3, 10, 50, 60), SR, -0.341945, -2.258030),
]

WRAPPED = [
    (0, 0),
    (90, 90),
    (180, 180),
    (-180, 180),
    (181, -179),
    (359, -1),
    (-190, 170),
    (540, 180),
    (-359.5, 0.5),
    (270, -90),
]
WRAPPED_HALF = [(90, 90), (179.9, -0.1), (180, 0), (181, 1), (-190, -10), (270, 90), (-90, 90)]

# horizontal, vertical, rotation, gains, u of horizontal, vertical, gains dB, rotation °; amplitude, phase °, u of
# amplitude, u of phase °, u of amplitude in dB; all rotate-then-scale
UNCERTAINTY = [
    (3.0, 4.0, 30, 40, 52, 0.03, 0.03, 0.1, 0.1, 0.5, 0.031637844, -11.483365, 0.00043601189, 0.61272733, 0.119703),
    (0.5, 5.0, 0, 0, 12, 0.05, 0.05, 0, 0, 0, 1.3518111, 68.292144, 0.021867252, 1.9787516, 0.140505),
    (3.0, 4.0, 30, 0, 0, 0.1, 0.1, 0.2, 0.2, 1.0, 5.0, 23.130102, 0.1309464, 1.7649787, 0.227477),
]

# One static signal (0.02, 0.01) at gains 40 and 52 dB: order, rotation, horizontal, vertical as shown
STATIC = [
    (RS, 0, 2.0, 3.981072),
    (RS, 40, 0.889301, 8.167645),
    (SR, 0, 2.0, 3.981072),
    (SR, 40, -1.026895, 4.335253),
]
STATIC_RS_INVARIANT, STATIC_SR_INVARIANT = 0.0005, 19.848932

# Wrong order: gain difference dB (the worst amplitude error), worst phase error °, by 2·asin((r − 1)/(r + 1)), r the
# gain ratio: the closed form; a coarse search over directions falls up to 0.6° short of it
WRONG_ORDER_DEG = [(3, 19.69), (6, 38.81), (10, 62.60), (12, 73.52)]
# Rotate-then-scale exaggerates the angle seen: true °, gain difference dB, shown °
SHOWN_ANGLE = [(10, 6, 19.4), (10, 12, 35.1)]

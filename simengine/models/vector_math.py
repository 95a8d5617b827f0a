"""Elementary functions without branches or calls, so that a loop over them runs on the vector units.

Each is given in the range that the blade elements need and no wider, to a few units in the last place.
"""

from math import pi

from simengine.compiled import square_root, vector_part

LN_2 = 0.6931471805599453
SQRT_2 = 1.4142135623730951


@vector_part
def sine(x: float) -> float:
    """Sine [1] of an angle `x` within +-pi/2 [rad]; Taylor's series to the 21st power."""
    z = x * x
    p = 1.0 / 121645100408832000.0 - z / 51090942171709440000.0
    p = 1.0 / 355687428096000.0 - z * p
    p = 1.0 / 1307674368000.0 - z * p
    p = 1.0 / 6227020800.0 - z * p
    p = 1.0 / 39916800.0 - z * p
    p = 1.0 / 362880.0 - z * p
    p = 1.0 / 5040.0 - z * p
    p = 1.0 / 120.0 - z * p
    p = 1.0 / 6.0 - z * p
    return x * (1.0 - z * p)


@vector_part
def small_exponential(t: float) -> float:
    """Exponential [1] of `t` [1], its size below 0.6; Taylor's series to the 14th power."""
    p = 1.0 / 6227020800.0 + t / 87178291200.0
    p = 1.0 / 479001600.0 + t * p
    p = 1.0 / 39916800.0 + t * p
    p = 1.0 / 3628800.0 + t * p
    p = 1.0 / 362880.0 + t * p
    p = 1.0 / 40320.0 + t * p
    p = 1.0 / 5040.0 + t * p
    p = 1.0 / 720.0 + t * p
    p = 1.0 / 120.0 + t * p
    p = 1.0 / 24.0 + t * p
    p = 1.0 / 6.0 + t * p
    p = 0.5 + t * p
    p = 1.0 + t * p
    return 1.0 + t * p


@vector_part
def exponential(x: float) -> float:
    """Exponential [1] of `x` [1] within +-37: that of x/64, squared six times."""
    y = small_exponential(0.015625 * x)
    y *= y
    y *= y
    y *= y
    y *= y
    y *= y
    return y * y


@vector_part
def logarithm(x: float) -> float:
    """Natural logarithm [1] of `x` [1], 1 to 512: halved into 0.707 to 1.414, then the series of artanh."""
    halvings = 0.0
    large = x >= 16.0
    halvings = 4.0 if large else 0.0
    x = 0.0625 * x if large else x
    large = x >= 4.0
    halvings = halvings + 2.0 if large else halvings
    x = 0.25 * x if large else x
    large = x >= 2.0
    halvings = halvings + 1.0 if large else halvings
    x = 0.5 * x if large else x
    large = x >= 2.0
    halvings = halvings + 1.0 if large else halvings
    x = 0.5 * x if large else x
    large = x >= SQRT_2
    halvings = halvings + 1.0 if large else halvings
    x = 0.5 * x if large else x
    z = (x - 1.0) / (x + 1.0)
    w = z * z
    p = 1.0 / 17.0 + w * (1.0 / 19.0 + w * (1.0 / 21.0))
    p = 1.0 / 11.0 + w * (1.0 / 13.0 + w * (1.0 / 15.0 + w * p))
    p = 1.0 / 5.0 + w * (1.0 / 7.0 + w * (1.0 / 9.0 + w * p))
    return halvings * LN_2 + 2.0 * z * (1.0 + w * (1.0 / 3.0 + w * p))


@vector_part
def arc_cosine(y: float) -> float:
    """Arc cosine [rad] of `y` [1], 0 to 1; rational function of Sun's freely distributable libm (1993)."""
    small = y < 0.5
    square, half = y * y, 0.5 * (1.0 - y)
    z = square if small else half
    rooted = square_root(half)
    p = 7.91534994289814532176e-04 + z * 3.47933107596021167570e-05
    p = 2.01212532134862925881e-01 + z * (-4.00555345006794114027e-02 + z * p)
    p = z * (1.66666666666666657415e-01 + z * (-3.25565818622400915405e-01 + z * p))
    q = -6.88283971605453293030e-01 + z * 7.70381505559019352791e-02
    q = 1.0 + z * (-2.40339491173441421878e00 + z * (2.02094576023350569471e00 + z * q))
    base = y if small else rooted
    angle = base + base * (p / q)
    near, far = 0.5 * pi - angle, 2.0 * angle
    return near if small else far

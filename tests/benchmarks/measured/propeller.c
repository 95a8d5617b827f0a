/* One whole propeller in plain C: the equations, the iteration and the stop of the attached elements, as in
   simengine/models/lanes.py, vector_math.py and the sum in momentum.py. A yardstick for speed, nothing else:
   elements that do not arrive are counted and left out, where the engine would go to its reference.

   layout.h is written from the Python modules: LANES, the rows of the workspace and the constants. */

#include <math.h>
#include <string.h>

#include "layout.h"

typedef struct {
    int elements, turns;
    double blades, tip_radius, datum;
    const double *radius, *width, *chord, *axis_lead, *lanes;
} Blade;

typedef struct {
    double density, viscosity, speed_of_sound;
} Air;

typedef struct {
    double thrust, torque, air_moment, stalled_fraction, lowest_reynolds, highest_reynolds, tip_mach,
        windmilling, status;
} Loads;

#define PART static inline __attribute__((always_inline))
#define LOOP static __attribute__((noinline))

PART double larger(double a, double b) { return a > b ? a : b; }
PART double smaller(double a, double b) { return a < b ? a : b; }

PART double sine(double x)
{
    double z = x * x;
    double p = 1.0 / 121645100408832000.0 - z / 51090942171709440000.0;
    p = 1.0 / 355687428096000.0 - z * p;
    p = 1.0 / 1307674368000.0 - z * p;
    p = 1.0 / 6227020800.0 - z * p;
    p = 1.0 / 39916800.0 - z * p;
    p = 1.0 / 362880.0 - z * p;
    p = 1.0 / 5040.0 - z * p;
    p = 1.0 / 120.0 - z * p;
    p = 1.0 / 6.0 - z * p;
    return x * (1.0 - z * p);
}

PART double small_exponential(double t)
{
    double p = 1.0 / 6227020800.0 + t / 87178291200.0;
    p = 1.0 / 479001600.0 + t * p;
    p = 1.0 / 39916800.0 + t * p;
    p = 1.0 / 3628800.0 + t * p;
    p = 1.0 / 362880.0 + t * p;
    p = 1.0 / 40320.0 + t * p;
    p = 1.0 / 5040.0 + t * p;
    p = 1.0 / 720.0 + t * p;
    p = 1.0 / 120.0 + t * p;
    p = 1.0 / 24.0 + t * p;
    p = 1.0 / 6.0 + t * p;
    p = 0.5 + t * p;
    p = 1.0 + t * p;
    return 1.0 + t * p;
}

PART double exponential(double x)
{
    double y = small_exponential(0.015625 * x);
    y *= y;
    y *= y;
    y *= y;
    y *= y;
    y *= y;
    return y * y;
}

PART double logarithm(double x)
{
    int large = x >= 16.0;
    double halvings = large ? 4.0 : 0.0;
    x = large ? 0.0625 * x : x;
    large = x >= 4.0;
    halvings = large ? halvings + 2.0 : halvings;
    x = large ? 0.25 * x : x;
    large = x >= 2.0;
    halvings = large ? halvings + 1.0 : halvings;
    x = large ? 0.5 * x : x;
    large = x >= 2.0;
    halvings = large ? halvings + 1.0 : halvings;
    x = large ? 0.5 * x : x;
    large = x >= SQRT_2;
    halvings = large ? halvings + 1.0 : halvings;
    x = large ? 0.5 * x : x;
    double z = (x - 1.0) / (x + 1.0);
    double w = z * z;
    double p = 1.0 / 17.0 + w * (1.0 / 19.0 + w * (1.0 / 21.0));
    p = 1.0 / 11.0 + w * (1.0 / 13.0 + w * (1.0 / 15.0 + w * p));
    p = 1.0 / 5.0 + w * (1.0 / 7.0 + w * (1.0 / 9.0 + w * p));
    return halvings * LN_2 + 2.0 * z * (1.0 + w * (1.0 / 3.0 + w * p));
}

PART double arc_cosine(double y)
{
    int small = y < 0.5;
    double square = y * y, half = 0.5 * (1.0 - y);
    double z = small ? square : half;
    double rooted = sqrt(half);
    double p = 7.91534994289814532176e-04 + z * 3.47933107596021167570e-05;
    p = 2.01212532134862925881e-01 + z * (-4.00555345006794114027e-02 + z * p);
    p = z * (1.66666666666666657415e-01 + z * (-3.25565818622400915405e-01 + z * p));
    double q = -6.88283971605453293030e-01 + z * 7.70381505559019352791e-02;
    q = 1.0 + z * (-2.40339491173441421878e00 + z * (2.02094576023350569471e00 + z * q));
    double base = small ? y : rooted;
    double angle = base + base * (p / q);
    double near = 0.5 * PI - angle, far = 2.0 * angle;
    return small ? near : far;
}

PART double lane_end_loss(double factor, double sine_phi)
{
    double exponent = smaller(factor / sine_phi, NO_LOSS);
    return arc_cosine(exponential(-exponent)) * (2.0 / PI);
}

PART double lane_loss(const double *work, int j, double s)
{
    double size = larger(fabs(s), 1.0e-12);
    double loss = lane_end_loss(work[TIP_FACTOR + j], size) * lane_end_loss(work[HUB_FACTOR + j], size);
    return larger(loss, LOSS_FLOOR);
}

PART void lane_coefficients(const double *work, int j, double incidence, double *cl, double *cd)
{
    double line = work[SLOPE + j] * incidence, rounding = work[ROUNDING + j];
    double above = larger(line - (work[LIFT_MAX + j] - rounding), 0.0);
    double below = smaller(line - (work[LIFT_MIN + j] + rounding), 0.0);
    double lost = (above * above - below * below) * 0.25 / rounding;
    double lift = line - lost;
    double off = lift - work[DRAG_LIFT + j];
    double excess = larger(work[EXCESS + j] + KORN_LIFT * fabs(lift), 0.0);
    double square = excess * excess;
    double drag = work[DRAG_MIN + j] + work[DRAG_RISE + j] * off * off + LOCK_FACTOR * square * square;
    drag += work[SUCTION + j] * lost * sine(incidence);
    *cl = lift + work[DELAY + j] * larger(lost, 0.0);
    *cd = drag;
}

PART double lane_load(double through, double advance, double loss)
{
    double slowed = advance - through;
    double free = 4.0 * loss * through * slowed;
    double heavy = 8.0 / 9.0 * advance * advance + (4.0 * loss - 40.0 / 9.0) * slowed * advance
                   + (50.0 / 9.0 - 4.0 * loss) * slowed * slowed;
    double held = 2.0 * advance * advance;
    double back = -free > held ? held : -free;
    double beyond = through >= 0.0 ? heavy : back;
    return through >= HEAVY * advance ? free : beyond;
}

LOOP void set_out(const double *restrict table, double *restrict work, double angle, double rotor_speed,
                  double airspeed, double viscous, double sound)
{
    memcpy(work, table, SHAPE * sizeof(double));
    double least = SLOWEST_TURN * fabs(airspeed);
    for (int j = 0; j < LANES; j++) {
        double turning = larger(rotor_speed * work[RADIUS + j], least);
        double speed = sqrt(turning * turning + airspeed * airspeed);
        double reynolds = viscous * speed * work[CHORD + j];
        double held = smaller(larger(reynolds, LOWEST_REYNOLDS), HIGHEST_REYNOLDS);
        double decades
            = logarithm(held * (1.0 / LOWEST_REYNOLDS)) * (1.0 / LOG_TEN) - work[LOG_REFERENCE + j];
        double bend = larger(decades + KNEE, 0.0);
        bend = bend * bend * (0.25 / KNEE);
        double above = decades >= KNEE ? decades : bend;
        double below = above - decades;
        double drag_factor
            = exponential(LOG_TEN * (work[EXPONENT_LOW + j] * below - work[EXPONENT_HIGH + j] * above));
        double growth = work[GROWTH + j] * above;
        double mach = speed / sound, limit = work[MACH_LIMIT + j];
        double counted = smaller(mach, limit);
        double compression = 1.0 / sqrt(1.0 - counted * counted);
        double rounding = work[ROUNDING + j];
        double top = work[BARE_MAX + j] + growth, bottom = work[BARE_MIN + j] - growth;
        work[TURNING + j] = turning;
        work[REYNOLDS + j] = reynolds;
        work[ANGLE + j] = angle + work[TWIST + j];
        work[ZERO_LIFT + j] = work[BARE_ZERO + j] + work[ZERO_LOSS + j] * below;
        work[SLOPE + j] = work[BARE_SLOPE + j] * (compression * work[SLOPE_SHARE + j]);
        work[LIFT_MAX + j] = larger(top, rounding);
        work[LIFT_MIN + j] = smaller(bottom, -rounding);
        work[DRAG_MIN + j] = work[BARE_DRAG + j] * drag_factor;
        work[DRAG_RISE + j] = work[BARE_RISE + j] * drag_factor;
        work[MOMENT + j] = work[BARE_MOMENT + j] * compression;
        work[EXCESS + j] = mach - work[MACH_CRITICAL + j];
    }
}

LOOP void first_guess(double *restrict work, double airspeed)
{
    for (int j = 0; j < LANES; j++) {
        double slope = work[SLOPE + j], turning = work[TURNING + j];
        double incidence = work[ANGLE + j] - work[ZERO_LIFT + j];
        double low = incidence - (work[LIFT_MAX + j] + work[ROUNDING + j]) / slope;
        double high = incidence - (work[LIFT_MIN + j] - work[ROUNDING + j]) / slope;
        low = larger(low, -0.5 * PI);
        high = smaller(high, 0.5 * PI);
        double ratio = airspeed / turning, lift = work[SOLIDITY + j] * slope;
        double half = 0.125 * (4.0 * ratio - lift);
        double square = larger(half * half + 0.25 * lift * incidence, 0.0);
        double loss = lane_loss(work, j, half + sqrt(square));
        lift = lift / loss;
        half = 0.125 * (4.0 * ratio - lift);
        square = larger(half * half + 0.25 * lift * incidence, 0.0);
        double phi = half + sqrt(square);
        double steep = 8.0 * fabs(phi) + lift - 4.0 * ratio;
        steep = turning * loss * fabs(phi) * larger(steep, lift);
        double flat = SWIRL_FLOOR * turning * lift;
        phi = larger(phi, low);
        work[LOW + j] = low;
        work[HIGH + j] = high;
        work[PHI + j] = smaller(phi, high);
        work[VALUE + j] = 0.0;
        work[STEP + j] = larger(steep, flat);
        work[STATE + j] = ACTIVE;
    }
}

PART double lane_residual(const double *work, int j, double phi, double mirror, double airspeed)
{
    double s = sine(phi), c = sqrt(1.0 - s * s), cl, cd;
    lane_coefficients(work, j, work[ANGLE + j] - phi - work[ZERO_LIFT + j], &cl, &cd);
    double loss = lane_loss(work, j, s), solidity = work[SOLIDITY + j];
    double m = sqrt(s * s + SWIRL_FLOOR * SWIRL_FLOOR);
    double carried = larger(4.0 * loss * m * c + solidity * (cl * s + cd * c), 0.0);
    double turn = m * work[TURNING + j];
    double load = lane_load(mirror * 4.0 * loss * turn * s, mirror * airspeed * carried, loss);
    return -turn * solidity * (cl * c - cd * s) - mirror * load / (16.0 * loss * loss * turn);
}

LOOP void first_look(double *restrict work, double mirror, double airspeed)
{
    for (int j = 0; j < LANES; j++) {
        double value = lane_residual(work, j, work[PHI + j], mirror, airspeed);
        work[VALUE + j] = value;
        work[STEP + j] = -value / work[STEP + j];
    }
}

LOOP void secant_step(double *restrict work, double mirror, double airspeed)
{
    for (int j = 0; j < LANES; j++) {
        double phi = work[PHI + j], value = work[VALUE + j], state = work[STATE + j];
        double low = work[LOW + j], high = work[HIGH + j];
        double x = smaller(larger(phi + work[STEP + j], low), high);
        double found = lane_residual(work, j, x, mirror, airspeed);
        double moved = x - phi;
        double gain = moved / (value - found), step = gain * found;
        double landed = x + step;
        int arrived = (fabs(step * moved) < STEP_PRODUCT) & (landed > low) & (landed < high);
        int stuck = moved == 0.0, active = state == ACTIVE;
        int exact = (found == 0.0) | (stuck & (x > low) & (x < high));
        double end = arrived ? landed : x;
        double outcome = arrived | exact ? SOLVED : ACTIVE;
        outcome = stuck & !exact ? GIVEN_UP : outcome;
        work[PHI + j] = active ? end : phi;
        work[VALUE + j] = active ? found : value;
        work[STEP + j] = step;
        work[STATE + j] = active ? outcome : state;
    }
}

LOOP void tail(double *restrict work, double mirror, double airspeed)
{
    double least = HEAVY * mirror * airspeed;
    for (int j = 0; j < LANES; j++) {
        double phi = work[PHI + j], state = work[STATE + j], cl, cd;
        double s = sine(phi), c = sqrt(1.0 - s * s);
        double alpha = work[ANGLE + j] - phi;
        lane_coefficients(work, j, alpha - work[ZERO_LIFT + j], &cl, &cd);
        double loss = lane_loss(work, j, s);
        double m = sqrt(s * s + SWIRL_FLOOR * SWIRL_FLOOR);
        double tangential = cl * s + cd * c;
        double carried = 4.0 * loss * m * c + work[SOLIDITY + j] * tangential;
        double sine_alpha = sine(alpha);
        int delayed = (alpha < DELAY_START) | (work[DELAY + j] == 0.0);
        double speed = 4.0 * loss * m * work[TURNING + j] / carried;
        int usable = (carried > 0.0) & delayed & (fabs(alpha) < 0.5 * PI) & (mirror * speed * s >= least);
        work[STATE + j] = usable ? state : GIVEN_UP;
        work[NORMAL + j] = cl * c - cd * s;
        work[TANGENTIAL + j] = tangential;
        work[SPEED + j] = speed;
        work[ACROSS + j] = cl * sqrt(1.0 - sine_alpha * sine_alpha) + cd * sine_alpha;
    }
}

LOOP void solve_lanes(const double *restrict table, double *restrict work, double angle, double rotor_speed,
                      double airspeed, double viscous, double sound)
{
    set_out(table, work, angle, rotor_speed, airspeed, viscous, sound);
    first_guess(work, airspeed);
    double mirror = airspeed >= 0.0 ? 1.0 : -1.0;
    first_look(work, mirror, airspeed);
    for (int i = 0; i < MOST_STEPS; i++) {
        secant_step(work, mirror, airspeed);
        double active = 0.0;
        for (int j = 0; j < LANES; j++)
            active += work[STATE + j] == ACTIVE ? 1.0 : 0.0;
        if (active == 0.0)
            break;
    }
    tail(work, mirror, airspeed);
}

LOOP Loads rotor_loads(const Blade *blade, double blade_angle, double rotor_speed, double airspeed,
                       const Air *air)
{
    double work[WORK_SIZE];
    double turning = larger(rotor_speed, 0.0), viscous = air->density / air->viscosity;
    double reach = turning * blade->tip_radius;
    double tip_speed = sqrt(reach * reach + airspeed * airspeed);
    double thrust = 0.0, torque = 0.0, moment = 0.0, left = 0.0, lowest = 1.0e300, highest = 0.0;
    for (int turn = 0; turn < blade->turns; turn++) {
        const double *table = blade->lanes + turn * TABLE_SIZE;
        int first = turn * LANES;
        int count = blade->elements - first < LANES ? blade->elements - first : LANES;
        solve_lanes(table, work, blade_angle + blade->datum, turning, airspeed, viscous, air->speed_of_sound);
        for (int j = 0; j < count; j++) {
            int i = first + j;
            double radius = blade->radius[i], chord = blade->chord[i], speed = work[SPEED + j];
            double across = work[ACROSS + j] * blade->axis_lead[i] + chord * work[MOMENT + j];
            double pressure = 0.5 * air->density * speed * speed * blade->width[i];
            double around = turning * radius;
            double reynolds = viscous * chord * sqrt(around * around + airspeed * airspeed);
            pressure = work[STATE + j] == SOLVED ? pressure : 0.0;
            left += work[STATE + j] == SOLVED ? 0.0 : 1.0;
            thrust += pressure * chord * work[NORMAL + j];
            torque += pressure * chord * work[TANGENTIAL + j] * radius;
            moment += pressure * chord * across;
            lowest = smaller(lowest, reynolds);
            highest = larger(highest, reynolds);
        }
    }
    return (Loads){blade->blades * thrust, blade->blades * torque, moment, 0.0, lowest, highest,
                   tip_speed / air->speed_of_sound, torque < 0.0 ? 1.0 : 0.0, left};
}

/* Every point of a list, shape (count, 3): blade angle [rad], rotor speed [rad/s], air speed [m/s]. */
void many_loads(const Blade *blade, const Air *air, int count, const double *points, Loads *results)
{
    for (int i = 0; i < count; i++)
        results[i] = rotor_loads(blade, points[3 * i], points[3 * i + 1], points[3 * i + 2], air);
}

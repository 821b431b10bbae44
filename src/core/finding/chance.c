/* SPDX-License-Identifier: MIT */
#include "core/finding/chance.h"

#define ENOUGH 20 /* shuffles that say as much, after which no more are made (own choice) */

/* splitmix64 (Steele, Lea & Flood 2014). */
uint64_t cb_chance_roll(struct cb_chance *chance)
{
    chance->state += UINT64_C(0x9e3779b97f4a7c15);
    uint64_t z = chance->state;
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

/* The remainder favours no number by more than n in 2^53, which no count of shuffles can tell. */
size_t cb_chance_below(struct cb_chance *chance, size_t n)
{
    return (size_t)((cb_chance_roll(chance) >> 11) % n);
}

/* Fisher and Yates, as Knuth has it (The Art of Computer Programming, vol. 2, 3.4.2, P). */
void cb_chance_shuffle(struct cb_chance *chance, double *values, size_t count)
{
    for (size_t i = count; i > 1; i--) {
        const size_t other = cb_chance_below(chance, i);
        const double value = values[i - 1];
        values[i - 1] = values[other];
        values[other] = value;
    }
}

static void reverse(double *values, size_t count)
{
    for (size_t i = 0; i < count / 2; i++) {
        const double value = values[i];
        values[i] = values[count - 1 - i];
        values[count - 1 - i] = value;
    }
}

void cb_chance_turn(struct cb_chance *chance, double *values, size_t count)
{
    if (count > 1) {
        const size_t by = cb_chance_below(chance, count);
        reverse(values, by);
        reverse(values + by, count - by);
        reverse(values, count);
    }
}

double cb_chance_p(double seen, cb_chance_draw *draw, void *context, uint64_t seed)
{
    struct cb_chance chance = {seed};
    const double close = 1e-9 * (seen < 0 ? -seen : seen); /* the same sum in another order */
    size_t as_much = 0;
    for (size_t made = 1; made <= CB_CHANCE_SHUFFLES; made++) {
        as_much += draw(context, &chance) >= seen - close ? 1 : 0;
        if (as_much == ENOUGH) {
            return (double)as_much / (double)made;
        }
    }
    return (double)(as_much + 1) / (CB_CHANCE_SHUFFLES + 1);
}

/* SPDX-License-Identifier: MIT */
#include "support/planted.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "core/bench/forecast.h"
#include "core/bench/rows.h"
#include "core/review/lesson.h"

#define FIGURES     15
#define DAY_MIN     1440.0
#define BEGINS_MIN  (20 * 60 + 10) /* of the day; evenings begin up to half an hour later */
#define EVENING_MIN 125.0
#define GROUP       2 /* figures that who paints early takes through two stages */
#define LIFTS       .1
#define ANSWERS     .95
#define LOOK_MIN    .08
/* Of so many answers the learner hears at once: much quicker, and no other learner. */
#define ANSWERS_LEARNED 5
#define COST_MIN        20 /* a unit: by then who is early, or floods, has luck */
#define STAGES_ALL      9  /* that every painter has */
#define STAGES_MAX      14
#define THICK           2 /* paint that is flooded, or thickens */

/* Spreads, of logs: estimates. */
#define BENCH_SD   .20
#define POT_SD     .15
#define FILM_SD    .22
#define AIR_SD     .08 /* of an evening, that the climate typed in does not tell */
#define SPEED_SD   .30
#define STAGE_SD   .20
#define SESSION_SD .12
#define COAT_SD    .25
#define DRIFT_SD   .06 /* within an evening, from coat to coat by .9 */

struct work {
    int stage, coat;
};
struct wet {
    struct cb_film_key key;
    double true_min; /* standard minutes, as it really dries */
    bool asked;
};
struct bench {
    struct planted_painter *painter;
    struct world world;
    const char *unit;
    double evening_from_min, air, session, drift; /* the evening's: logs */
    int64_t day_ms;                               /* of the unit's first evening */
    int day;
    CB_VEC(struct wet) films;                        /* that have not rung, or are asked about */
    double true_min[FIGURES + 1][STAGES_MAX + 1][3]; /* of the film that stands; by coat */
    int answers;
    int brush; /* paint */
};

static const char *const words[] = {
#define X(id, words, kind) words,
    PLANTED(X)
#undef X
};
static const char *const kinds[] = {
#define X(id, words, kind) kind,
    PLANTED(X)
#undef X
};

const char *planted_words(enum planted planted)
{
    return words[planted];
}

const char *planted_kind(enum planted planted)
{
    return kinds[planted];
}

/* splitmix64, Steele, Lea & Flood 2014. */
static double even(struct planted_painter *painter)
{
    painter->seed += UINT64_C(0x9e3779b97f4a7c15);
    uint64_t z = painter->seed;
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return ((double)((z ^ (z >> 31)) >> 11) + .5) / 9007199254740992.0;
}

/* Box & Muller 1958. */
static double normal(struct planted_painter *painter)
{
    const double r = sqrt(-2 * log(even(painter)));
    return r * cos(6.283185307179586 * even(painter));
}

#define STAGES                                                                                     \
    "{name: Oilskin, technique: basecoat, paint: p0, coats: 2, minutes: 2.5},"                     \
    "{name: Rope, technique: basecoat, paint: p1, minutes: 2.5},"                                  \
    "{name: Shade, technique: wash, paint: p2, minutes: 0.5},"                                     \
    "{name: Boots, technique: layer, paint: p3, minutes: 2.5},"                                    \
    "{name: Lantern, technique: layer, paint: p4, minutes: 3},"                                    \
    "{name: Deep shade, technique: wash, paint: p2, minutes: 0.5},"                                \
    "{name: Face, technique: layer, paint: p5, minutes: 3},"                                       \
    "{name: Grime, technique: wash, paint: p2, minutes: 0.5},"                                     \
    "{name: Glow, technique: layer, paint: p6, minutes: 3}"
static const char *const paints[] = {"Oilskin green", "Tarred rope", "Ebb wash",  "Boot black",
                                     "Lantern brass", "Skin",        "Wick white"};
static const char *const details[] = {"Sash red", "Badge blue", "Strap tan", "Buckle grey",
                                      "Chart ink"};
static const int paint_of_stage[] = {0, 1, 2, 3, 4, 2, 5, 2, 6};

static char *recipe(struct planted_painter *painter, struct cb_arena *arena)
{
    struct cb_str text = {0};
    cb_str_add(&text, "{coatbell: 1, name: Night watch, change: 1.5, ");
    cb_str_add(&text,
               "groups: {g0: [1, 2, 3, 4], g1: [5, 6, 7, 8], g2: [9, 10, 11, 12]},paints: {");
    for (int i = 0; i < 7; i++) {
        cb_str_addf(&text, "p%d: {name: %s, kind: %s},", i, paints[i],
                    i == THICK ? "wash" : "acrylic");
    }
    for (int i = 0; i < 5 && painter->planted == PLANTED_SMALL; i++) {
        cb_str_addf(&text, "q%d: {name: %s, kind: acrylic},", i, details[i]);
    }
    cb_str_add(&text, "}, stages: [" STAGES);
    for (int i = 0; i < 5 && painter->planted == PLANTED_SMALL; i++) {
        cb_str_addf(&text,
                    ", {name: Detail %d, technique: layer, paint: q%d, for: g%d, minutes: 2}", i, i,
                    i % 3);
    }
    cb_str_add(&text, "]}");
    char *copy = cb_arena_text(arena, cb_str_text(&text));
    cb_str_fini(&text);
    return copy;
}

void planted_begin(struct planted_painter *painter, enum planted planted, uint64_t number)
{
    *painter = (struct planted_painter){
        .planted = planted,
        .seed = (number + 1000 * planted) * UINT64_C(0xd1342543de82ef95) + 1,
        .learn = cb_learn_new(NULL)};
    painter->room = BENCH_SD * normal(painter);
    painter->speed = SPEED_SD * normal(painter);
    for (size_t i = 0; i < sizeof painter->pots / sizeof *painter->pots; i++) {
        painter->pots[i] = POT_SD * normal(painter);
    }
    for (size_t i = 0; i < sizeof painter->stages / sizeof *painter->stages; i++) {
        painter->stages[i] = STAGE_SD * normal(painter);
    }
}

void planted_end(struct planted_painter *painter)
{
    cb_learn_free(painter->learn);
    cb_vec_free(&painter->rows);
    cb_arena_fini(&painter->arena);
}

static const struct cb_unit *unit_of(const struct bench *bench)
{
    return cb_bench_unit(bench->world.bench, 0);
}

static double minute_of_day(const struct bench *bench)
{
    return (double)((bench->world.now.wall_ms / 1000) % 86400) / 60;
}

static void learn(struct bench *bench)
{
    struct cb_arena arena = {0};
    size_t own_count, count;
    const struct cb_row *own = cb_bench_rows(bench->world.bench, &own_count);
    const struct cb_row *rows = cb_rows_merge(
        bench->painter->rows.items, bench->painter->rows.count, own, own_count, &arena, &count);
    cb_learn_sync(bench->painter->learn, rows, count);
    cb_arena_fini(&arena);
}

static void say(struct bench *bench, const char *event, const struct cb_film_key *key,
                const char *more)
{
    world_do(&bench->world,
             cb_arena_printf(&bench->world.arena, "%s %s figure=%d stage=%d coat=%d%s", event,
                             bench->unit, key->figure, key->stage, key->coat, more));
}

static const struct cb_film *film_of(const struct bench *bench, const struct wet *wet)
{
    return cb_bench_film(unit_of(bench), wet->key.figure, wet->key.stage, wet->key.coat);
}

static int64_t due_ms(const struct bench *bench, const struct cb_film *film)
{
    int64_t due = CB_TIME_NONE;
    (void)cb_forecast_dry(bench->world.bench, bench->painter->learn, film, world_ms(&bench->world),
                          &due);
    return due;
}

/* It rings; now and then it is looked at and answered, until it is dry. */
static bool ring(struct bench *bench, struct wet *wet)
{
    const struct cb_film *film = film_of(bench, wet);
    world_do(&bench->world,
             cb_arena_printf(&bench->world.arena, "pinged %s films=%d/%d/%d due_at=0 by=test",
                             bench->unit, wet->key.figure, wet->key.stage, wet->key.coat));
    const bool never =
        bench->painter->planted == PLANTED_THICK && paint_of_stage[wet->key.stage - 1] == THICK;
    if (never || (!wet->asked && even(bench->painter) > ANSWERS)) {
        return true;
    }
    const double age_min = (double)(world_ms(&bench->world) - film->on_ms) / 60000;
    wet->asked = true;
    world_wait(&bench->world, LOOK_MIN);
    say(bench, "checked", &wet->key, age_min < wet->true_min ? " found=wet" : " found=dry");
    if (++bench->answers % ANSWERS_LEARNED == 0) {
        learn(bench);
    }
    return age_min >= wet->true_min;
}

static void go_to(struct bench *bench, int64_t at_ms)
{
    while (true) {
        size_t first = bench->films.count;
        int64_t first_ms = at_ms;
        for (size_t i = 0; i < bench->films.count; i++) {
            const struct cb_film *film = film_of(bench, &bench->films.items[i]);
            const int64_t due =
                film == NULL || film->next_ms != CB_TIME_NONE ? INT64_MIN : due_ms(bench, film);
            if (due == INT64_MIN) {
                bench->films.items[i--] = bench->films.items[--bench->films.count];
            } else if (due <= first_ms) {
                first = i;
                first_ms = due;
            }
        }
        if (first >= bench->films.count) {
            break;
        }
        world_wait(&bench->world, fmax(0, (double)(first_ms - world_ms(&bench->world)) / 60000));
        if (ring(bench, &bench->films.items[first])) {
            bench->films.items[first] = bench->films.items[--bench->films.count];
        }
    }
    world_wait(&bench->world, fmax(0, (double)(at_ms - world_ms(&bench->world)) / 60000));
}

static void open_evening(struct bench *bench)
{
    struct planted_painter *painter = bench->painter;
    const double at_min = bench->day++ * DAY_MIN + BEGINS_MIN + 30 * even(painter);
    const int64_t at_ms = bench->day_ms + llround(at_min * 60000);
    bench->films.count = 0; /* what dries over night rings for nobody */
    world_wait(&bench->world, (double)(at_ms - bench->world.now.wall_ms) / 60000);
    world_do(&bench->world, "session_opened -");
    world_do(&bench->world, "climate_set - temp_c=23 rh_pct=50 air=still");
    bench->evening_from_min = minute_of_day(bench);
    bench->air = AIR_SD * normal(painter);
    bench->session = SESSION_SD * normal(painter);
    bench->drift = 0;
    bench->brush = -1;
    learn(bench);
}

static void close_evening(struct bench *bench)
{
    world_do(&bench->world, "session_closed -");
}

static double slow_by(struct bench *bench, int place)
{
    const double minute = minute_of_day(bench);
    switch (bench->painter->planted) {
    case PLANTED_TIRED:
        return place > 8 ? 1.14 : 1;
    case PLANTED_LATE:
        return minute >= 22 * 60 || minute < 6 * 60 ? 1.33 : 1;
    case PLANTED_NONE:
    case PLANTED_EARLY:
    case PLANTED_THICK:
    case PLANTED_SMALL:
    case PLANTED_SLOWER:
    case PLANTED_COUNT:
        break;
    }
    return 1;
}

/* By now, as a log. */
static double thicker(const struct bench *bench)
{
    const double days = (double)(bench->world.now.wall_ms - INT64_C(1767636000000)) / 86400000;
    return log(1.5) * days / 365;
}

static double true_min(struct bench *bench, const struct cb_film *film, int paint)
{
    struct planted_painter *painter = bench->painter;
    double more = FILM_SD * normal(painter) + bench->air + painter->room + painter->pots[paint];
    if (painter->planted == PLANTED_SLOWER && paint == THICK) {
        more += thicker(bench);
    }
    if (painter->planted == PLANTED_THICK && paint == THICK && even(painter) < .5) {
        more += log(5);
    }
    return film->drying->standard_min * exp(more);
}

/* Puts it on when its minutes are over; true: what lies beneath came up. */
static bool put_on(struct bench *bench, struct work work, int figure, int place, bool waits)
{
    struct planted_painter *painter = bench->painter;
    const struct cb_unit *unit = unit_of(bench);
    const struct cb_stage *stage = &unit->recipe->stages[work.stage - 1];
    const int paint = work.stage <= STAGES_ALL ? paint_of_stage[work.stage - 1] : 7;
    const int brush = work.stage <= STAGES_ALL ? paint : work.stage;
    int64_t from_ms = world_ms(&bench->world);
    struct wet beneath = {.key = {0, 0, 0}};
    const struct cb_film *film = NULL;
    for (size_t i = unit->film_count; i-- > 0 && film == NULL;) {
        film = unit->films[i].figure == figure && unit->films[i].lifted_ms == CB_TIME_NONE
                   ? &unit->films[i]
                   : NULL;
    }
    if (film != NULL) {
        beneath.key = (struct cb_film_key){figure, film->stage, film->coat};
        beneath.true_min = bench->true_min[figure][film->stage][film->coat];
        const int64_t due = due_ms(bench, film);
        from_ms = waits && due != CB_TIME_NONE && due > from_ms ? due : from_ms;
    }
    if (painter->planted == PLANTED_SLOWER && film != NULL && from_ms > world_ms(&bench->world) &&
        film->stage <= STAGES_ALL && paint_of_stage[film->stage - 1] == THICK) {
        const double wait_min = (double)(from_ms - world_ms(&bench->world)) / 60000;
        const double dry_min = (double)(from_ms - film->on_ms) / 60000;
        painter->cost_min += fmin(wait_min, dry_min * (1 - exp(-thicker(bench))));
    }
    go_to(bench, from_ms);
    double change_min = 0;
    if (bench->brush != brush) {
        const double usual_min = work.stage > STAGES_ALL ? 5 : 1.5;
        change_min = usual_min * exp(.3 * normal(painter));
        bench->brush = brush;
        painter->cost_min += work.stage > STAGES_ALL + 1 ? change_min : 0;
    }
    bench->drift = .9 * bench->drift + DRIFT_SD * sqrt(1 - .81) * normal(painter);
    const double slow = slow_by(bench, place);
    const double took_min = stage->work_min *
                            exp(painter->speed + painter->stages[work.stage - 1] + bench->session +
                                bench->drift + COAT_SD * normal(painter)) *
                            slow;
    const bool lifted = painter->planted == PLANTED_EARLY || painter->planted == PLANTED_THICK;
    painter->cost_min +=
        place == 0 ? (lifted ? change_min + took_min : 0) : took_min * (1 - 1 / slow);
    go_to(bench, world_ms(&bench->world) + llround((change_min + took_min) * 60000));
    const struct cb_film_key key = {figure, work.stage, work.coat};
    double age_min = INFINITY;
    if (film != NULL) { /* may have moved */
        film = cb_bench_film(unit, figure, beneath.key.stage, beneath.key.coat);
        age_min = (double)(world_ms(&bench->world) - film->on_ms) / 60000;
    }
    say(bench, "coat_on", &key, "");
    film = cb_bench_film(unit, figure, work.stage, work.coat);
    const double dry_min = true_min(bench, film, paint);
    bench->true_min[figure][work.stage][work.coat] = dry_min;
    cb_vec_push(&bench->films, ((struct wet){key, dry_min, false}));
    const double lifts = painter->planted != PLANTED_EARLY && painter->planted != PLANTED_THICK
                             ? LIFTS
                         : painter->cost_min < COST_MIN * (painter->units + 1) ? .8
                                                                               : 0;
    if (age_min < beneath.true_min && even(painter) < lifts) {
        world_wait(&bench->world, .2);
        say(bench, "lifted", &beneath.key, "");
        return true;
    }
    return false;
}

/* A coat that came up is done again, once, when its row is over. */
static void do_again(struct bench *bench, struct work beneath, const int *lifted, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        (void)put_on(bench, beneath, lifted[i], 0, true);
    }
}

static void paint_rows(struct bench *bench, const struct work *rows, size_t count, int group,
                       struct work before)
{
    const struct cb_recipe *of = unit_of(bench)->recipe;
    int lifted[FIGURES], place[2] = {0, 0};
    for (int from = 1; from <= FIGURES; from += group) {
        for (size_t r = 0; r < count; r++) {
            size_t lifted_count = 0;
            for (int figure = from; figure < from + group && figure <= FIGURES; figure++) {
                if (!cb_recipe_applies(of, (size_t)rows[r].stage - 1, figure)) {
                    continue;
                }
                if (minute_of_day(bench) > bench->evening_from_min + EVENING_MIN) {
                    close_evening(bench);
                    open_evening(bench);
                    place[r] = 0;
                }
                const bool thick = bench->painter->planted == PLANTED_THICK && before.stage > 0 &&
                                   paint_of_stage[before.stage - 1] == THICK;
                if (put_on(bench, rows[r], figure, ++place[r], r == 0 && !thick)) {
                    lifted[lifted_count++] = figure;
                }
            }
            do_again(bench, r == 0 ? before : rows[0], lifted, lifted_count);
        }
    }
}

static void paint(struct bench *bench)
{
    const struct cb_recipe *of = unit_of(bench)->recipe;
    struct work rows[40] = {{0, 0}};
    size_t count = 0;
    for (size_t stage = 0; stage < of->stage_count; stage++) {
        for (int coat = 1; coat <= of->stages[stage].coats; coat++) {
            rows[count++] = (struct work){(int)stage + 1, coat};
        }
    }
    for (size_t i = 0; i < count;) {
        /* Two coats of the oilskin, and the wash with what follows. */
        const bool early = bench->painter->planted == PLANTED_EARLY && (i == 0 || i == 3);
        paint_rows(bench, &rows[i], early ? 2 : 1, early ? GROUP : FIGURES,
                   i > 0 ? rows[i - 1] : rows[0]);
        i += early ? 2 : 1;
    }
}

/* As the log's history makes it: of the unit alone. */
static void add_trail(struct bench *bench)
{
    struct planted_painter *painter = bench->painter;
    struct cb_arena *arena = &bench->world.arena;
    const struct cb_review *review = cb_review_unit(bench->world.bench, 0, CB_TIME_NONE, arena);
    const struct cb_lesson lesson = cb_lesson_of(bench->world.bench, review, arena);
    struct cb_trail *trail = &painter->trails[painter->units++];
    *trail = cb_trail_of(review, lesson.rows, lesson.row_count, &painter->arena);
    for (size_t i = 0; i < trail->row_count; i++) {
        cb_vec_push(&painter->rows, trail->rows[i]);
    }
}

void planted_unit(struct planted_painter *painter)
{
    /* Half of the painters take a year for three units, the others some weeks. */
    const bool year = painter->planted == PLANTED_SLOWER || painter->pots[7] > 0;
    struct bench bench = {.painter = painter};
    char name[16];
    world_init(&bench.world);
    snprintf(name, sizeof name, "u%d", painter->units + 1);
    bench.unit = name;
    bench.world.machine = bench.world.now.boot = name; /* ids and clock of its own */
    bench.day_ms = bench.world.now.wall_ms / 86400000 * 86400000 +
                   (int64_t)painter->units * (year ? 200 : 20) * 86400000;
    bench.world.now.wall_ms = bench.day_ms;
    open_evening(&bench);
    world_begin(&bench.world, name, FIGURES, recipe(painter, &bench.world.arena));
    paint(&bench);
    close_evening(&bench);
    world_do(&bench.world, cb_arena_printf(&bench.world.arena, "unit_finished %s", name));
    add_trail(&bench);
    for (size_t i = 0; i < bench.world.log.count && painter->write; i++) {
        painter->write(bench.world.log.items[i]);
    }
    cb_vec_free(&bench.films);
    world_fini(&bench.world);
}

struct cb_findings planted_findings(struct planted_painter *painter)
{
    static const struct cb_zone zone = {.count = 0};
    const struct cb_finding_log log = {
        .trails = painter->trails, .count = (size_t)painter->units, .zone = &zone};
    return cb_findings_of(&log, &painter->arena);
}

bool planted_has(const struct cb_findings *findings, const char *kind)
{
    bool has = false;
    for (size_t i = 0; i < findings->count; i++) {
        has = has || strcmp(findings->items[i].kind, kind) == 0;
    }
    return has;
}

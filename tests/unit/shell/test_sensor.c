/* SPDX-License-Identifier: MIT */
/* Temperature and humidity from files laid out as the kernel's, in a folder of our own. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "core/air/climate.h"
#include "shell/sensor.h"

static char root[64];
static struct cb_arena arena;

static int open_root(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    snprintf(root, sizeof root, "%.40s/sys-XXXXXX", base && *base ? base : "/tmp");
    return mkdtemp(root) ? 0 : -1;
}

static int close_root(void **state)
{
    (void)state;
    cb_arena_fini(&arena); /* the folder goes with the seal's */
    return 0;
}

/* A file of a device, with the folders it lies in. */
static void put(const char *name, const char *text)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", root, name);
    for (char *slash = path + strlen(root) + 1; (slash = strchr(slash, '/')) != NULL; slash++) {
        *slash = '\0';
        mkdir(path, 0700);
        *slash = '/';
    }
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

#define IIO   "bus/iio/devices/"
#define HWMON "class/hwmon/"

static struct cb_sensor_reading read_one(const char *name)
{
    struct cb_sensor_reading reading = {0};
    struct cb_err err = {0};
    assert_int_equal(cb_sensor_read(root, name, &arena, &reading, &err), CB_OK);
    return reading;
}

static void none(void **state)
{
    (void)state;
    struct cb_sensor_reading reading;
    struct cb_err err = {0};
    size_t count;
    cb_sensor_list(root, &arena, &count);
    assert_int_equal(count, 0);
    assert_int_equal(cb_sensor_read(root, "any", &arena, &reading, &err), CB_FAILED);
    assert_string_equal(err.text, "no device here gives temperature and humidity");
}

/* sysfs-bus-iio: in thousandths where they are worked out, else (raw + offset) * scale. The raw
 * figures are ours, of a device that counts sixteen bits over 165 C from -40 C and over 100 %:
 * 165000 / 65536 = 2.517700195 for the scale, -40000 / 2.517700195 = -15887.515152 for the offset,
 * 100000 / 65536 = 1.525878906. 25 C is then at 25817.212 of them and 50 % at 32768. */
static void iio(void **state)
{
    (void)state;
    put(IIO "iio:device0/name", "bme280\n");
    put(IIO "iio:device0/in_temp_input", "19480\n");
    put(IIO "iio:device0/in_humidityrelative_input", "62344\n");
    struct cb_sensor_reading reading = read_one("bme280");
    assert_true(reading.temp_c > 19.4799 && reading.temp_c < 19.4801);
    assert_true(reading.rh_pct > 62.3439 && reading.rh_pct < 62.3441);
    assert_string_equal(cb_sensor_line(&reading, &arena), "19.5C 62.3%");

    put(IIO "iio:device1/name", "hdc100x\n");
    put(IIO "iio:device1/in_temp_raw", "25817\n");
    put(IIO "iio:device1/in_temp_offset", "-15887.515151\n");
    put(IIO "iio:device1/in_temp_scale", "2.517700195\n");
    put(IIO "iio:device1/in_humidityrelative_raw", "32768\n");
    put(IIO "iio:device1/in_humidityrelative_scale", "1.525878906\n");
    reading = read_one("hdc100x");
    assert_true(reading.temp_c > 24.999 && reading.temp_c < 25.001);
    assert_true(reading.rh_pct > 49.999 && reading.rh_pct < 50.001);
}

/* What does not give both is no such device, whatever else it is. */
static void halves(void **state)
{
    (void)state;
    put(HWMON "hwmon0/name", "coretemp\n");
    put(HWMON "hwmon0/temp1_input", "48000\n");
    put(HWMON "hwmon1/humidity1_input", "40000\n");
    put(HWMON "hwmon1/temp1_input", "20000\n"); /* no name */
    put(HWMON "hwmon2/name", "broken\n");
    put(HWMON "hwmon2/temp1_input", "twenty\n");
    put(HWMON "hwmon2/humidity1_input", "40000\n");
    put(HWMON "hwmon3/name", "\n");
    put(HWMON "hwmon3/temp1_input", "");
    put(IIO "iio:device2/name", "accel_3d\n");
    put(IIO "iio:device2/in_temp_input", "31000\n");
    put(IIO "trigger0/name", "timer\n");
    struct cb_sensor_reading reading;
    size_t count;
    cb_sensor_list(root, &arena, &count);
    assert_int_equal(count, 2);
    assert_int_equal(cb_sensor_read(root, "coretemp", &arena, &reading, NULL), CB_FAILED);
    assert_int_equal(cb_sensor_read(root, "broken", &arena, &reading, NULL), CB_FAILED);
}

/* The first by name, and of one name the first by folder. */
static void order(void **state)
{
    (void)state;
    put(HWMON "hwmon9/name", "aht20\n");
    put(HWMON "hwmon9/temp1_input", "-1250\n");
    put(HWMON "hwmon9/humidity1_input", "88000\n");
    put(IIO "iio:device7/name", "bme280\n");
    put(IIO "iio:device7/in_temp_input", "7000\n");
    put(IIO "iio:device7/in_humidityrelative_input", "70000\n");
    size_t count;
    const struct cb_sensor_reading *all = cb_sensor_list(root, &arena, &count);
    static const char *const names[] = {"aht20", "bme280", "bme280", "hdc100x"};
    assert_int_equal(count, 4);
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(all[i].name, names[i]);
    }
    struct cb_sensor_reading any = read_one("any"), bme = read_one("bme280");
    assert_string_equal(cb_sensor_line(&any, &arena), "-1.2C 88.0%");
    assert_true(bme.temp_c > 19);
    struct cb_climate climate = cb_climate_standard; /* in C also where bare numbers are F */
    struct cb_err err;
    assert_int_equal(cb_climate_parse(cb_sensor_line(&any, &arena), true, &climate, &err), CB_OK);
    assert_true(climate.temp_c < -1.1 && climate.temp_c > -1.3);
}

/* A name is somebody else's text, a file may be huge or no file at all. */
static void hostile(void **state)
{
    (void)state;
    char long_text[5000];
    memset(long_text, '7', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = '\0';
    put(HWMON "hwmon10/name", "a\033[2Jb\n");
    put(HWMON "hwmon10/temp1_input", "20000");
    put(HWMON "hwmon10/humidity1_input", "50000");
    put(HWMON "hwmon11/name", long_text);
    put(HWMON "hwmon11/temp1_input", long_text);
    put(HWMON "hwmon11/humidity1_input", "50000");
    put(HWMON "hwmon12/name", "pipe\n");
    put(HWMON "hwmon12/humidity1_input", "50000");
    char fifo[256];
    snprintf(fifo, sizeof fifo, "%s/" HWMON "hwmon12/temp1_input", root);
    assert_int_equal(mkfifo(fifo, 0600), 0); /* is not waited for */
    size_t count;
    const struct cb_sensor_reading *all = cb_sensor_list(root, &arena, &count);
    bool found = false;
    for (size_t i = 0; i < count; i++) {
        assert_null(strchr(all[i].name, '\033'));
        assert_string_not_equal(all[i].name, "pipe");
        found = found || strcmp(all[i].name, "a?[2Jb") == 0;
    }
    assert_true(found);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(none),  cmocka_unit_test(iio),     cmocka_unit_test(halves),
        cmocka_unit_test(order), cmocka_unit_test(hostile),
    };
    return cmocka_run_group_tests_name("sensor", tests, open_root, close_root);
}

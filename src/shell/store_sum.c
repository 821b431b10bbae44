/* SPDX-License-Identifier: MIT */
#include "shell/store_sum.h"

#include <sqlite3.h>
#include <string.h>

#include "base/digest.h"

static uint64_t add_integer(uint64_t sum, sqlite3_int64 number)
{
    return cb_digest_number(cb_digest_bytes(sum, "i", 1), (uint64_t)number);
}

static uint64_t add_real(uint64_t sum, double number)
{
    uint64_t bits;
    number = number < 0 || number > 0 ? number : 0; /* -0.0 comes back from the disk as 0 */
    memcpy(&bits, &number, sizeof bits);
    return cb_digest_number(cb_digest_bytes(sum, "r", 1), bits);
}

static uint64_t add_bytes(uint64_t sum, const char *type, const void *bytes, int length)
{
    sum = cb_digest_number(cb_digest_bytes(sum, type, 1), (uint64_t)length);
    return bytes == NULL ? sum : cb_digest_bytes(sum, bytes, (size_t)length);
}

int64_t cb_store_sum_of(sqlite3_stmt *stmt, int first, int end)
{
    uint64_t sum = CB_DIGEST_BEGIN;
    for (int i = first; i < end; i++) {
        const void *bytes;
        switch (sqlite3_column_type(stmt, i)) {
        case SQLITE_INTEGER:
            sum = add_integer(sum, sqlite3_column_int64(stmt, i));
            break;
        case SQLITE_FLOAT:
            sum = add_real(sum, sqlite3_column_double(stmt, i));
            break;
        case SQLITE_TEXT:
            bytes = sqlite3_column_text(stmt, i);
            sum = add_bytes(sum, "t", bytes, sqlite3_column_bytes(stmt, i));
            break;
        case SQLITE_BLOB:
            bytes = sqlite3_column_blob(stmt, i);
            sum = add_bytes(sum, "b", bytes, sqlite3_column_bytes(stmt, i));
            break;
        default:
            sum = cb_digest_bytes(sum, "n", 1);
            break;
        }
    }
    return (int64_t)sum;
}

static void row_sum(sqlite3_context *context, int count, sqlite3_value **values)
{
    uint64_t sum = CB_DIGEST_BEGIN;
    for (int i = 0; i < count; i++) {
        const void *bytes;
        switch (sqlite3_value_type(values[i])) {
        case SQLITE_INTEGER:
            sum = add_integer(sum, sqlite3_value_int64(values[i]));
            break;
        case SQLITE_FLOAT:
            sum = add_real(sum, sqlite3_value_double(values[i]));
            break;
        case SQLITE_TEXT:
            bytes = sqlite3_value_text(values[i]);
            sum = add_bytes(sum, "t", bytes, sqlite3_value_bytes(values[i]));
            break;
        case SQLITE_BLOB:
            bytes = sqlite3_value_blob(values[i]);
            sum = add_bytes(sum, "b", bytes, sqlite3_value_bytes(values[i]));
            break;
        default:
            sum = cb_digest_bytes(sum, "n", 1);
            break;
        }
    }
    sqlite3_result_int64(context, (sqlite3_int64)sum);
}

static void xor_step(sqlite3_context *context, int count, sqlite3_value **values)
{
    sqlite3_int64 *sum = sqlite3_aggregate_context(context, sizeof *sum);
    if (sum != NULL && count == 1) {
        *sum ^= sqlite3_value_int64(values[0]);
    }
}

static void xor_final(sqlite3_context *context)
{
    const sqlite3_int64 *sum = sqlite3_aggregate_context(context, 0);
    sqlite3_result_int64(context, sum == NULL ? 0 : *sum);
}

int cb_store_sum_functions(sqlite3 *db)
{
    const int flags = SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY;
    const int code =
        sqlite3_create_function_v2(db, "row_sum", -1, flags, NULL, row_sum, NULL, NULL, NULL);
    return code == SQLITE_OK ? sqlite3_create_function_v2(db, "row_xor", 1, flags, NULL, NULL,
                                                          xor_step, xor_final, NULL)
                             : code;
}

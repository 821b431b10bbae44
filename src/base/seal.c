/* SPDX-License-Identifier: MIT */
#include "base/seal.h"

#include <stdint.h>
#include <string.h>

struct seal {
    uint64_t sum, sums;
};
_Static_assert(sizeof(struct seal) == CB_SEAL_SIZE, "the seal has no padding");

/* Fletcher, An Arithmetic Checksum for Serial Transmissions, IEEE Transactions on Communications
 * 30 (1982), by words of 32 bits in sums of 64. Begins at one more than the length, so
 * that no run of zeros is its own seal. */
static struct seal seal_of(const unsigned char *bytes, size_t length)
{
    struct seal seal = {length + 1, 0};
    const unsigned char *end = bytes + length;
    uint32_t word = 0;
    for (; (size_t)(end - bytes) >= sizeof word; bytes += sizeof word) {
        memcpy(&word, bytes, sizeof word);
        seal.sum += word;
        seal.sums += seal.sum;
    }
    word = 0;
    memcpy(&word, bytes, (size_t)(end - bytes));
    seal.sum += word;
    seal.sums += seal.sum;
    return seal;
}

void cb_seal_put(void *bytes, size_t length)
{
    const struct seal seal = seal_of(bytes, length - CB_SEAL_SIZE);
    memcpy((unsigned char *)bytes + length - CB_SEAL_SIZE, &seal, sizeof seal);
}

bool cb_seal_holds(const void *bytes, size_t length)
{
    if (length < CB_SEAL_SIZE) {
        return false;
    }
    const unsigned char *all = bytes;
    const struct seal seal = seal_of(all, length - CB_SEAL_SIZE);
    return memcmp(all + length - CB_SEAL_SIZE, &seal, sizeof seal) == 0;
}

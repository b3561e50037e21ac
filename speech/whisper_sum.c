#include "whisper_sum.h"

#include <math.h>
#include <string.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif

static void discard(enum ggml_log_level level, const char *text, void *data) {
    (void)level;
    (void)text;
    (void)data;
}

void putback_quiet(void) { whisper_log_set(discard, 0); }

void putback_give_back(void) {
#ifdef __GLIBC__
    // Set by hand, the threshold does not grow with every large block that is freed.
    mallopt(M_MMAP_THRESHOLD, 128 * 1024);
#endif
}

// The loops below are written so that the compiler turns them into vector
// instructions, and compiled once for each width of those: a row is 50 000
// exponentials, a command needs more than a hundred rows, and calling expf for
// each took longer than the model itself.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && defined(__GLIBC__)
#define EACH_WIDTH __attribute__((target_clones("avx512f", "arch=haswell", "default")))
#else
#define EACH_WIDTH
#endif

// fast_exp is e to the x for x <= 0, to within 3 units in the last place of a
// float; below -87 it is the least normal float. 2^f for |f| <= 1/2 is the
// Taylor polynomial of order 7, whose remainder there is below 2^-27.
static inline __attribute__((always_inline)) float fast_exp(float x) {
    x = x < -87.0f ? -87.0f : x;
    float t = x * 1.44269504f;
    float whole = (t + 12582912.0f) - 12582912.0f; // rounds to the nearest integer
    float f = t - whole;
    float p = 1.52527338e-5f;
    p = p * f + 1.54035304e-4f;
    p = p * f + 1.33335581e-3f;
    p = p * f + 9.61812911e-3f;
    p = p * f + 5.55041087e-2f;
    p = p * f + 2.40226507e-1f;
    p = p * f + 6.93147181e-1f;
    p = p * f + 1.0f;
    int bits = ((int)whole + 127) << 23;
    float scale;
    memcpy(&scale, &bits, sizeof scale);
    return p * scale;
}

#define LANES 32

EACH_WIDTH double putback_log_sum(const float *logits, int n) {
    float most[LANES];
    for (int k = 0; k < LANES; k++) {
        most[k] = -INFINITY;
    }
    int i = 0;
    for (; i + LANES <= n; i += LANES) {
        for (int k = 0; k < LANES; k++) {
            most[k] = logits[i + k] > most[k] ? logits[i + k] : most[k];
        }
    }
    float top = -INFINITY;
    for (int k = 0; k < LANES; k++) {
        top = most[k] > top ? most[k] : top;
    }
    for (; i < n; i++) {
        top = logits[i] > top ? logits[i] : top;
    }
    if (top == -INFINITY) {
        return -INFINITY;
    }
    // Partial sums: most terms are small against the largest, and one float
    // sum over all of them would lose them.
    float part[LANES] = {0};
    for (i = 0; i + LANES <= n; i += LANES) {
        for (int k = 0; k < LANES; k++) {
            part[k] += fast_exp(logits[i + k] - top);
        }
    }
    double sum = 0;
    for (int k = 0; k < LANES; k++) {
        sum += part[k];
    }
    for (; i < n; i++) {
        sum += fast_exp(logits[i] - top);
    }
    return top + log(sum);
}

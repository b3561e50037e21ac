#include "whisper_sum.h"

#include <math.h>

static void discard(enum ggml_log_level level, const char *text, void *data) {
    (void)level;
    (void)text;
    (void)data;
}

void putback_quiet(void) { whisper_log_set(discard, 0); }

double putback_log_sum(const float *logits, int n) {
    float top = -INFINITY;
    for (int i = 0; i < n; i++) {
        if (logits[i] > top) {
            top = logits[i];
        }
    }
    if (top == -INFINITY) {
        return -INFINITY;
    }
    // Eight partial sums: the terms are small against the largest, and a
    // single float sum over 50 000 of them would lose them.
    float part[8] = {0};
    int i = 0;
    for (; i + 8 <= n; i += 8) {
        for (int k = 0; k < 8; k++) {
            float d = logits[i + k] - top;
            if (d > -25.0f) {
                part[k] += expf(d);
            }
        }
    }
    double sum = 0;
    for (int k = 0; k < 8; k++) {
        sum += part[k];
    }
    for (; i < n; i++) {
        sum += expf(logits[i] - top);
    }
    return top + log(sum);
}

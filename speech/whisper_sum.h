// What the recogniser needs of whisper.cpp beyond its Go binding.
#ifndef PUTBACK_WHISPER_H
#define PUTBACK_WHISPER_H

#include <stdint.h>
#include <whisper.h>

// putback_quiet keeps whisper.cpp's own log off the terminal.
void putback_quiet(void);

// putback_give_back has large blocks given back to the system when they are freed.
void putback_give_back(void);

// putback_log_sum is the logarithm of the sum of the exponentials of n logits:
// the denominator of the full softmax.
double putback_log_sum(const float *logits, int n);

#endif

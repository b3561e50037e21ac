// Checks the library's product of 8-bit matrices, on the processor it was built
// for, against the sums done plainly. scripts/whisper runs it before it keeps a
// build: a wrong sum would not be seen, only misheard.
#include <ggml-cpu.h>
#include <ggml.h>

#include <cmath>
#include <cstdio>
#include <random>
#include <vector>

// Rows of A (the weights), columns of B (the sound or the words), length of each.
static double worst(int rows, int columns, int length, int threads, std::mt19937 &chance) {
    ggml_context *ctx = ggml_init({64u << 20, nullptr, false});
    ggml_tensor *a = ggml_new_tensor_2d(ctx, GGML_TYPE_Q8_0, length, rows);
    ggml_tensor *b = ggml_new_tensor_2d(ctx, GGML_TYPE_F32, length, columns);
    std::normal_distribution<float> normal;
    std::vector<float> weights(rows * length);
    for (float &w : weights) {
        w = normal(chance);
    }
    ggml_quantize_chunk(GGML_TYPE_Q8_0, weights.data(), a->data, 0, rows, length, nullptr);
    ggml_get_type_traits(GGML_TYPE_Q8_0)->to_float(a->data, weights.data(), weights.size());
    float *given = ggml_get_data_f32(b);
    for (int i = 0; i < columns * length; i++) {
        given[i] = normal(chance);
    }
    ggml_tensor *product = ggml_mul_mat(ctx, a, b);
    ggml_cgraph *graph = ggml_new_graph(ctx);
    ggml_build_forward_expand(graph, product);
    ggml_graph_compute_with_ctx(ctx, graph, threads);
    // B is rounded to 8 bits as well: a step is a 127th of the largest of 32
    // values, and what each is off by is chance, up to half a step and to what
    // the scale lost in its 11 bits.
    double off = 0;
    std::vector<double> step(length);
    for (int j = 0; j < columns; j++) {
        for (int l = 0; l < length; l++) {
            float most = 0;
            for (int k = l / 32 * 32; k < l / 32 * 32 + 32; k++) {
                most = std::fmax(most, std::fabs(given[j * length + k]));
            }
            step[l] = most / 254 + std::fabs(given[j * length + l]) / 2048;
        }
        for (int i = 0; i < rows; i++) {
            double sum = 0, spread = 0;
            for (int l = 0; l < length; l++) {
                double w = weights[i * length + l];
                sum += w * given[j * length + l];
                spread += w * w * step[l] * step[l];
            }
            off = std::fmax(off, std::fabs(ggml_get_data_f32(product)[j * rows + i] - sum) / std::sqrt(spread));
        }
    }
    ggml_free(ctx);
    return off;
}

int main() {
    std::mt19937 chance(1);
    double most = 0;
    for (int threads : {1, 2, 3}) {
        for (int rows : {1, 15, 16, 40, 56}) {
            for (int columns : {1, 2, 3, 4, 5, 6, 7, 9, 13}) {
                for (int length : {32, 384, 1536}) {
                    double off = worst(rows, columns, length, threads, chance);
                    most = std::fmax(most, off);
                    // Evenly spread it is 0.58 in the mean square; ten of those are no chance.
                    if (!(off <= 6)) {
                        std::printf("the product of %d x %d and %d x %d with %d threads is off by %.3g times what rounding explains\n",
                                    rows, length, length, columns, threads, off);
                        return 1;
                    }
                }
            }
        }
    }
    std::printf("the product of 8-bit matrices is right, off by %.2g times the rounding at most\n", most);
    return 0;
}

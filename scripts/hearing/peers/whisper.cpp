// A peer of the hearing bench: whisper.cpp as it is, with its own decoder, free
// or held to a GBNF grammar by its own means. scripts/hearing/peers/install
// builds it; nothing of Putback links it.
//
//     whisper MODEL THREADS SETTING [GRAMMAR.gbnf]
//
// SETTING is "shipped" for what its command-line tool does by itself: a window
// of 30 s, beam search of 5, fallback to higher temperatures; or "quick" for a
// window as long as the sound, greedy, without fallback. Without a grammar it
// decodes freely.
// A line in is LANGUAGE<tab>FILE.wav (16 kHz, mono, 16 bits; the language is
// not looked at), a line out is a JSON object.

#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <iterator>
#include <string>
#include <vector>

#include "grammar-parser.h"
#include "whisper.h"

static std::string quoted(const std::string & s) {
    std::string out = "\"";
    char code[8];
    for (unsigned char c : s) {
        if (c == '"' || c == '\\') {
            out += '\\';
            out += (char) c;
        } else if (c < 0x20) {
            snprintf(code, sizeof code, "\\u%04x", c);
            out += code;
        } else {
            out += (char) c;
        }
    }
    return out + "\"";
}

static uint32_t number(const std::vector<char> & d, size_t at) {
    return (uint8_t) d[at] | (uint8_t) d[at + 1] << 8 | (uint8_t) d[at + 2] << 16 | (uint32_t) (uint8_t) d[at + 3] << 24;
}

// The bench writes these files itself, so one plain form is enough.
static bool read_wav(const std::string & path, std::vector<float> & sound) {
    std::ifstream in(path, std::ios::binary);
    std::vector<char> d((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
    for (size_t at = 12; at + 8 <= d.size();) {
        size_t size = number(d, at + 4);
        if (std::string(&d[at], 4) == "data") {
            size_t n = std::min(size, d.size() - at - 8) / 2;
            sound.resize(n);
            for (size_t i = 0; i < n; i++) {
                sound[i] = (int16_t) ((uint8_t) d[at + 8 + 2 * i] | (uint8_t) d[at + 9 + 2 * i] << 8) / 32768.0f;
            }
            return n > 0;
        }
        at += 8 + size + (size & 1);
    }
    return false;
}

static void quiet(ggml_log_level, const char *, void *) {}

int main(int argc, char ** argv) {
    if (argc < 4) {
        std::cerr << "usage: whisper MODEL THREADS shipped|quick [GRAMMAR.gbnf]\n";
        return 2;
    }
    const bool quick = std::string(argv[3]) == "quick";
    whisper_log_set(quiet, nullptr);
    grammar_parser::parse_state grammar;
    if (argc > 4) {
        std::ifstream in(argv[4]);
        std::string text((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
        grammar = grammar_parser::parse(text.c_str());
        if (grammar.rules.empty() || !grammar.symbol_ids.count("root")) {
            std::cerr << argv[4] << ": no grammar that whisper.cpp can read\n";
            return 1;
        }
    }
    auto cparams = whisper_context_default_params();
    cparams.use_gpu = false;
    whisper_context * ctx = whisper_init_from_file_with_params(argv[1], cparams);
    if (!ctx) {
        std::cerr << argv[1] << ": whisper.cpp cannot load it\n";
        return 1;
    }
    auto rules = grammar.c_rules();
    std::cout << "{\"ready\":true}" << std::endl;
    for (std::string line; std::getline(std::cin, line);) {
        std::string path = line.substr(line.find('\t') + 1);
        std::vector<float> sound;
        if (!read_wav(path, sound)) {
            std::cout << "{\"error\":" << quoted("cannot read " + path) << "}" << std::endl;
            continue;
        }
        // As shipped: what whisper-cli of the same source uses by default. For
        // one short command no timestamps, one segment and nothing of the one
        // before, which is to its good.
        auto p = whisper_full_default_params(quick ? WHISPER_SAMPLING_GREEDY : WHISPER_SAMPLING_BEAM_SEARCH);
        p.n_threads = atoi(argv[2]);
        p.language = "en";
        p.print_progress = p.print_realtime = p.print_timestamps = p.print_special = false;
        p.no_context = true;
        p.single_segment = true;
        p.no_timestamps = true;
        p.beam_search.beam_size = 5;
        p.greedy.best_of = 5;
        if (quick) {
            p.temperature_inc = 0.0f;
            p.greedy.best_of = 1;
            p.audio_ctx = std::min(1500, std::max(256, (int) (sound.size() * 50 / 16000) + 64));
        }
        if (!rules.empty()) {
            p.grammar_rules = rules.data();
            p.n_grammar_rules = rules.size();
            p.i_start_rule = grammar.symbol_ids.at("root");
            p.grammar_penalty = 100.0f;
        }
        if (whisper_full(ctx, p, sound.data(), (int) sound.size()) != 0) {
            std::cout << "{\"error\":" << quoted("whisper.cpp failed on " + path) << "}" << std::endl;
            continue;
        }
        std::string text;
        for (int i = 0; i < whisper_full_n_segments(ctx); i++) {
            text += whisper_full_get_segment_text(ctx, i);
        }
        std::cout << "{\"text\":" << quoted(text) << "}" << std::endl;
    }
    whisper_free(ctx);
    return 0;
}

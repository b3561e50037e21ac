package speech

/*
#cgo CFLAGS: -O3
#include "whisper_sum.h"
*/
import "C"

import (
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"sync"
	"unsafe"

	whisper "github.com/ggerganov/whisper.cpp/bindings/go"
)

// whisperRate is the sampling rate the model listens at, in samples per second.
const whisperRate = 16000

// The model hears positions of 20 ms, at most 1500 of them.
const (
	positionsPerSecond = 50
	longestContext     = 1500
)

// SaveMemory makes the whole program keep less in reserve, unless the environment
// says how much it shall (GOGC). 120 shop commands took 280 MB at most instead of
// 385, and no longer.
func SaveMemory() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(25)
	}
	C.putback_give_back()
}

var quietWhisper = sync.OnceFunc(func() { C.putback_quiet() })

// whisperModel is one loaded model with room for one sound at a time. The Go
// binding loads it; decoding several sequences over one encoded sound goes
// through the functions that scripts/whisper.patch adds to the same library.
type whisperModel struct {
	context *whisper.Context
	threads int
	width   int // size of the vocabulary, specials included
	prompt  []int32
	end     int32 // end of text
	words   [][]byte
	// silence is a second state of the model that has heard nothing; nil until it is needed.
	silence *C.struct_whisper_state
}

func openWhisper(path string, threads int) (*whisperModel, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("opening the hearing model: %w (putback models fetch gets it)", err)
	}
	if info.IsDir() {
		return nil, fmt.Errorf("opening the hearing model: %s is a folder, a ggml file is wanted", path)
	}
	quietWhisper()
	context := whisper.Whisper_init(path)
	if context == nil {
		return nil, fmt.Errorf("opening the hearing model: %s is no ggml file of whisper.cpp (putback models verify checks it)", path)
	}
	m := &whisperModel{
		context: context,
		threads: threads,
		width:   context.Whisper_n_vocab(),
		end:     int32(context.Whisper_token_eot()),
	}
	m.prompt = []int32{int32(context.Whisper_token_sot())}
	if context.Whisper_is_multilingual() != 0 {
		m.prompt = append(m.prompt,
			int32(context.Whisper_token_lang(context.Whisper_lang_id("en"))),
			int32(C.whisper_token_transcribe(m.c())))
	}
	m.prompt = append(m.prompt, int32(context.Whisper_token_not()))
	m.words = make([][]byte, m.end)
	for id := range m.words {
		m.words[id] = []byte(context.Whisper_token_to_str(whisper.Token(id)))
	}
	return m, nil
}

func (m *whisperModel) c() *C.struct_whisper_context {
	return (*C.struct_whisper_context)(unsafe.Pointer(m.context))
}

func (m *whisperModel) close() {
	if m.silence != nil {
		C.whisper_free_state(m.silence)
	}
	m.context.Whisper_free()
}

// swap exchanges the state that heard the sound and the one that heard nothing.
func (m *whisperModel) swap() { m.silence = C.whisper_use_state(m.c(), m.silence) }

// openSilence makes the state that has heard nothing, once. Its sequence 0 holds
// the prompt and stays.
func (m *whisperModel) openSilence() error {
	if m.silence != nil {
		return nil
	}
	if m.silence = C.whisper_init_state(m.c()); m.silence == nil {
		return errors.New("making a second state of the model: out of memory")
	}
	m.swap()
	err := m.hearNothing()
	m.swap()
	if err != nil {
		C.whisper_free_state(m.silence)
		m.silence = nil
	}
	return err
}

func (m *whisperModel) hearNothing() error {
	if err := m.encode(make([]float32, 3*whisperRate), encodeMargin); err != nil {
		return err
	}
	if err := m.begin(silentCells); err != nil {
		return err
	}
	var prompt batch
	for i, t := range m.prompt {
		prompt.add(t, i, 0, false)
	}
	return m.decode(&prompt)
}

// silentCells is the room for tokens of the state that has heard nothing.
const silentCells = 256

// encode listens to samples once; what follows decodes over it. margin is the
// number of empty positions left after the sound: with too few the model
// repeats itself.
func (m *whisperModel) encode(samples []float32, margin int) error {
	positions := len(samples)*positionsPerSecond/whisperRate + margin
	positions = (positions + tile - 1) / tile * tile
	positions = min(max(positions, shortestContext), longestContext)
	if err := m.context.Whisper_pcm_to_mel(samples, idleThreads(m.threads)); err != nil {
		return fmt.Errorf("turning the sound into a spectrogram: %w", err)
	}
	C.whisper_set_audio_ctx(m.c(), C.int(positions))
	if C.whisper_encode(m.c(), 0, C.int(idleThreads(m.threads))) != 0 {
		return errors.New("encoding the sound: the model failed")
	}
	return nil
}

// tile is what the library's quick matrix product wants the number of positions
// to be a multiple of.
const tile = 16

// shortestContext is the fewest positions the encoder is given.
const shortestContext = 256

// begin empties the decoder and makes room for a number of tokens.
func (m *whisperModel) begin(cells int) error {
	if C.whisper_beams_begin(m.c(), C.int(cells)) != 0 {
		return fmt.Errorf("making room for %d tokens: out of memory", cells)
	}
	return nil
}

// batch is a number of tokens decoded together, each one at a position of its
// own sequence.
type batch struct {
	tokens, positions, sequences []int32
	want                         []int8
}

func (b *batch) clear() {
	b.tokens, b.positions, b.sequences, b.want = b.tokens[:0], b.positions[:0], b.sequences[:0], b.want[:0]
}

func (b *batch) add(token int32, position, sequence int, want bool) {
	b.tokens = append(b.tokens, token)
	b.positions = append(b.positions, int32(position))
	b.sequences = append(b.sequences, int32(sequence))
	flag := int8(0)
	if want {
		flag = 1
	}
	b.want = append(b.want, flag)
}

// decode runs the batch; errNoRoom leaves everything as it was. Afterwards logits(i) is the row of its i-th token,
// valid until the next call, for tokens that wanted one.
func (m *whisperModel) decode(b *batch) error {
	switch code := C.whisper_beams_decode(m.c(),
		(*C.whisper_token)(&b.tokens[0]), (*C.int32_t)(&b.positions[0]), (*C.int32_t)(&b.sequences[0]), (*C.int8_t)(&b.want[0]),
		C.int(len(b.tokens)), C.int(idleThreads(m.threads))); code {
	case 0:
		return nil
	case 2:
		return fmt.Errorf("decoding %d tokens: %w", len(b.tokens), errNoRoom)
	default:
		return fmt.Errorf("decoding %d tokens: the model failed (code %d; at most 448 fit in a batch)", len(b.tokens), code)
	}
}

// errNoRoom: the decoder's cache has no run of free cells long enough.
var errNoRoom = errors.New("no run of free cells in the decoder's cache is long enough")

func (m *whisperModel) logits(i int) []float32 {
	first := C.whisper_get_logits(m.c())
	all := unsafe.Slice((*float32)(unsafe.Pointer(first)), (i+1)*m.width)
	return all[i*m.width:]
}

// logSum is the denominator of the full softmax over a row of logits.
func logSum(row []float32) float64 {
	return float64(C.putback_log_sum((*C.float)(&row[0]), C.int(len(row))))
}

func (m *whisperModel) copySequence(from, to int) {
	C.whisper_beams_copy(m.c(), C.int(from), C.int(to))
}

func (m *whisperModel) dropSequence(sequence int) { C.whisper_beams_drop(m.c(), C.int(sequence)) }

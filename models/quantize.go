package models

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
)

// Q8_0, ggml's 8-bit form: 32 numbers of a row share one scale, a binary16
// number of which each is a multiple between -127 and 127.
const (
	ggmlQ8            = 8    // element type
	ggmlFileQ8        = 2007 // ftype of a file: 7 for Q8_0, 1000 times version 2 of the quantised forms
	q8Block           = 32   // numbers
	q8Bytes           = 2 + q8Block
	ggmlMaxDimensions = 4
	ggmlMaxName       = 256
	ggmlMaxElements   = 1 << 28 // Whisper's largest matrix has under 2²⁷
)

// Quantize reads a Whisper model in whisper.cpp's form with 16-bit weights (as
// Convert writes it) and writes it with 8-bit ones (Q8_0): little more than half
// the size, and quicker on a processor. The matrices are quantised, whatever is
// small or has another rank stays as it is. The file is the same, byte for byte,
// as the one that whisper.cpp's own tool quantize makes.
func Quantize(w io.Writer, model io.Reader) error {
	q := &quantizer{r: bufio.NewReaderSize(model, 1<<18), w: bufio.NewWriterSize(w, 1<<18)}
	q.header()
	for q.err == nil && !q.over() {
		q.tensor()
	}
	if q.err == nil {
		q.err = q.w.Flush()
	}
	if q.err != nil {
		return fmt.Errorf("quantising a ggml file: %w", q.err)
	}
	return nil
}

// quantizer copies a model and keeps the first error.
type quantizer struct {
	r   *bufio.Reader
	w   *bufio.Writer
	err error
}

func (q *quantizer) over() bool {
	_, err := q.r.Peek(1)
	return errors.Is(err, io.EOF)
}

// read reads n 32-bit numbers.
func (q *quantizer) read(n int) []uint32 {
	v := make([]uint32, n)
	if q.err == nil {
		if q.err = binary.Read(q.r, binary.LittleEndian, v); errors.Is(q.err, io.EOF) {
			q.err = io.ErrUnexpectedEOF
		}
	}
	return v
}

func (q *quantizer) write(v []uint32) {
	if q.err == nil {
		q.err = binary.Write(q.w, binary.LittleEndian, v)
	}
}

func (q *quantizer) copy(bytes int64) {
	if q.err == nil {
		if _, q.err = io.CopyN(q.w, q.r, bytes); errors.Is(q.err, io.EOF) {
			q.err = io.ErrUnexpectedEOF
		}
	}
}

// header copies all that comes before the tensors: magic, hyper-parameters (the
// last is the form of the file), mel filters, vocabulary.
func (q *quantizer) header() {
	head := q.read(1 + 11)
	if q.err == nil && (head[0] != ggmlMagic || head[11] != ggmlFloat16) {
		q.err = fmt.Errorf("it is no Whisper model with 16-bit weights (magic %#x, form %d)", head[0], head[11])
	}
	head[11] = ggmlFileQ8
	q.write(head)
	filters := q.read(2)
	q.write(filters)
	q.copy(4 * int64(filters[0]) * int64(filters[1]))
	tokens := q.read(1)
	q.write(tokens)
	for i := uint32(0); i < tokens[0] && q.err == nil; i++ {
		length := q.read(1)
		q.write(length)
		q.copy(int64(length[0]))
	}
}

// tensor copies one tensor, quantised where it is a matrix of weights.
func (q *quantizer) tensor() {
	head := q.read(3)
	rank, length, typ := head[0], head[1], head[2]
	if q.err == nil && (rank > ggmlMaxDimensions || length > ggmlMaxName || typ > ggmlFloat16) {
		q.err = fmt.Errorf("a tensor of rank %d, type %d and a name of %d bytes: the file is damaged", rank, typ, length)
	}
	if q.err != nil {
		return
	}
	dims := q.read(int(rank))
	name := make([]byte, length)
	if q.err == nil {
		_, q.err = io.ReadFull(q.r, name)
	}
	elements := int64(1)
	for _, d := range dims {
		if elements *= int64(d); elements > ggmlMaxElements && q.err == nil {
			q.err = fmt.Errorf("tensor %s has more than %d numbers: the file is damaged", name, ggmlMaxElements)
		}
	}
	if q.err != nil {
		return
	}
	eight := rank == 2 && typ == ggmlFloat16 && !strings.Contains(string(name), "positional_embedding")
	if eight {
		head[2] = ggmlQ8
		if dims[0]%q8Block != 0 {
			q.err = fmt.Errorf("tensor %s: rows of %d numbers are no multiple of %d", name, dims[0], q8Block)
		}
	}
	q.write(head)
	q.write(dims)
	if q.err == nil {
		_, q.err = q.w.Write(name)
	}
	switch {
	case eight:
		q.blocks(elements / q8Block)
	case typ == ggmlFloat16:
		q.copy(2 * elements)
	default:
		q.copy(4 * elements)
	}
}

// blocks quantises so many blocks of 16-bit numbers.
func (q *quantizer) blocks(n int64) {
	var in [2 * q8Block]byte
	var out [q8Bytes]byte
	for ; n > 0 && q.err == nil; n-- {
		if _, q.err = io.ReadFull(q.r, in[:]); q.err != nil {
			return
		}
		quantizeBlock(&out, &in)
		_, q.err = q.w.Write(out[:])
	}
}

// quantizeBlock rounds as ggml does (quantize_row_q8_0_ref): in single
// precision, halves away from zero.
func quantizeBlock(out *[q8Bytes]byte, in *[2 * q8Block]byte) {
	var x [q8Block]float32
	most := float32(0)
	for i := range x {
		x[i] = halfToFloat(binary.LittleEndian.Uint16(in[2*i:]))
		most = max(most, float32(math.Abs(float64(x[i]))))
	}
	scale := most / 127
	inverse := float32(0)
	if scale != 0 {
		inverse = 1 / scale
	}
	binary.LittleEndian.PutUint16(out[:], floatToHalf(scale))
	for i := range x {
		out[2+i] = byte(int8(math.Round(float64(x[i] * inverse))))
	}
}

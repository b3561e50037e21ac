package models

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// synthetic is a Whisper model too small to hear anything, in CTranslate2
// form: width 64 (one head), one layer each way, 20 tokens. Every number is
// different from its neighbours, so that a mixed-up tensor shows.
type synthetic struct {
	model      []byte
	vocabulary string
	values     map[string][]float32
}

const (
	synWidth  = 64
	synTokens = 20
	synAudio  = 8
	synText   = 6
)

func newSynthetic(t testing.TB) synthetic {
	t.Helper()
	s := synthetic{values: make(map[string][]float32)}
	for i := range synTokens {
		s.vocabulary += spellToken([]byte{byte(' '), byte(i), byte(200 + i)}) + "\n"
	}
	s.vocabulary += "never read\n"
	type variable struct {
		name string
		dims []int
	}
	n := synWidth
	vars := []variable{
		{"decoder/embeddings/weight", []int{synTokens, n}},
		{"decoder/position_encodings/encodings", []int{synText, n}},
		{"encoder/position_encodings/encodings", []int{synAudio, n}},
		{"encoder/conv1/weight", []int{n, melBands, 3}}, {"encoder/conv1/bias", []int{n}},
		{"encoder/conv2/weight", []int{n, n, 3}}, {"encoder/conv2/bias", []int{n}},
	}
	norm := func(name string) {
		vars = append(vars, variable{name + "/gamma", []int{n}}, variable{name + "/beta", []int{n}})
	}
	linear := func(name string, rows, columns int) {
		vars = append(vars, variable{name + "/weight", []int{rows, columns}}, variable{name + "/bias", []int{rows}})
	}
	for _, side := range []string{"encoder", "decoder"} {
		layer := side + "/layer_0"
		norm(layer + "/self_attention/layer_norm")
		linear(layer+"/self_attention/linear_0", 3*n, n)
		linear(layer+"/self_attention/linear_1", n, n)
		if side == "decoder" {
			norm(layer + "/attention/layer_norm")
			linear(layer+"/attention/linear_0", n, n)
			linear(layer+"/attention/linear_1", 2*n, n)
			linear(layer+"/attention/linear_2", n, n)
		}
		norm(layer + "/ffn/layer_norm")
		linear(layer+"/ffn/linear_0", 4*n, n)
		linear(layer+"/ffn/linear_1", n, 4*n)
		norm(side + "/layer_norm")
	}
	var b bytes.Buffer
	le := binary.LittleEndian
	str := func(x string) {
		require.NoError(t, binary.Write(&b, le, uint16(len(x)+1)))
		b.WriteString(x + "\x00")
	}
	require.NoError(t, binary.Write(&b, le, uint32(6)))
	str("WhisperSpec")
	require.NoError(t, binary.Write(&b, le, []uint32{3, uint32(len(vars) + 1)}))
	// A scalar that the conversion has no use for, as the real files have.
	str("decoder/num_heads")
	b.Write([]byte{0, byte(ct2Int16), 2, 0, 0, 0, 1, 0})
	count := 0
	for _, v := range vars {
		str(v.name)
		b.WriteByte(byte(len(v.dims)))
		elements := 1
		for _, d := range v.dims {
			require.NoError(t, binary.Write(&b, le, uint32(d)))
			elements *= d
		}
		b.WriteByte(byte(ct2Float16))
		require.NoError(t, binary.Write(&b, le, uint32(2*elements)))
		for range elements {
			count++
			f := halfToFloat(floatToHalf(float32(math.Sin(float64(count)))))
			s.values[v.name] = append(s.values[v.name], f)
			require.NoError(t, binary.Write(&b, le, floatToHalf(f)))
		}
	}
	require.NoError(t, binary.Write(&b, le, uint32(0)))
	s.model = b.Bytes()
	return s
}

// ggmlTensor is a tensor as a reader of the ggml form sees it.
type ggmlTensor struct {
	dims   []int32 // fastest first, as stored
	typ    int32
	values []float32
}

// readGGML reads a whole ggml file the way whisper.cpp's whisper_model_load
// does: magic, 11 hyper-parameters, filters, vocabulary, tensors to the end.
func readGGML(t testing.TB, file []byte) (header []int32, filters []float32, tokens [][]byte, tensors map[string]ggmlTensor) {
	t.Helper()
	r := bytes.NewReader(file)
	le := binary.LittleEndian
	ints := func(n int) []int32 {
		v := make([]int32, n)
		require.NoError(t, binary.Read(r, le, v))
		return v
	}
	require.EqualValues(t, 0x67676d6c, ints(1)[0], "magic")
	header = ints(11)
	shape := ints(2)
	require.Equal(t, []int32{80, 201}, shape)
	filters = make([]float32, 80*201)
	require.NoError(t, binary.Read(r, le, filters))
	for range ints(1)[0] {
		token := make([]byte, ints(1)[0])
		_, err := r.Read(token)
		require.NoError(t, err)
		tokens = append(tokens, token)
	}
	tensors = make(map[string]ggmlTensor)
	for r.Len() > 0 {
		h := ints(3)
		dims := ints(int(h[0]))
		name := make([]byte, h[1])
		_, err := r.Read(name)
		require.NoError(t, err)
		elements := 1
		for _, d := range dims {
			elements *= int(d)
		}
		x := ggmlTensor{dims: dims, typ: h[2], values: make([]float32, elements)}
		switch h[2] {
		case 0:
			require.NoError(t, binary.Read(r, le, x.values))
		case 1:
			halves := make([]uint16, elements)
			require.NoError(t, binary.Read(r, le, halves))
			for i, half := range halves {
				x.values[i] = halfToFloat(half)
			}
		case ggmlQ8:
			block := make([]byte, q8Bytes)
			for i := range x.values {
				if i%q8Block == 0 {
					_, err := io.ReadFull(r, block)
					require.NoError(t, err)
				}
				x.values[i] = float32(int8(block[2+i%q8Block])) * halfToFloat(le.Uint16(block))
			}
		default:
			require.Fail(t, fmt.Sprintf("tensor %s has type %d", name, h[2]))
		}
		require.NotContains(t, tensors, string(name))
		tensors[string(name)] = x
	}
	return header, filters, tokens, tensors
}

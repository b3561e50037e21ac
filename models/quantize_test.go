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

// The form is ggml's block_q8_0 (ggml-common.h): a binary16 scale, then 32
// signed bytes.
func TestBlockRoundsToMultiplesOfItsScale(t *testing.T) {
	var in [2 * q8Block]byte
	want := []int8{127, -127, 0, 64, -64, 1}
	// Scale 1/128, which binary16 holds exactly; halves are rounded away from zero.
	for i, v := range []float32{127, -127, 0, 63.5, -63.5, 0.75} {
		binary.LittleEndian.PutUint16(in[2*i:], floatToHalf(v/128))
	}
	var out [q8Bytes]byte
	quantizeBlock(&out, &in)
	require.Equal(t, floatToHalf(1.0/128), binary.LittleEndian.Uint16(out[:]))
	for i, w := range want {
		require.Equal(t, w, int8(out[2+i]), "number %d", i)
	}
	require.Equal(t, make([]byte, q8Block-len(want)), out[2+len(want):])

	quantizeBlock(&out, &[2 * q8Block]byte{})
	require.Equal(t, [q8Bytes]byte{}, out, "of nothing but zeros")
}

func TestQuantizingKeepsEveryNumberWithinHalfAStep(t *testing.T) {
	sixteen := convertSynthetic(t, newSynthetic(t))
	var out bytes.Buffer
	require.NoError(t, Quantize(&out, bytes.NewReader(sixteen)))
	require.Less(t, out.Len(), len(sixteen))

	header, filters, tokens, before := readGGML(t, sixteen)
	header8, filters8, tokens8, after := readGGML(t, out.Bytes())
	header[10] = ggmlFileQ8
	require.Equal(t, header, header8)
	require.Equal(t, filters, filters8)
	require.Equal(t, tokens, tokens8)
	require.Len(t, after, len(before))
	quantised := 0
	for name, a := range before {
		b := after[name]
		require.Equal(t, a.dims, b.dims, name)
		if b.typ != ggmlQ8 {
			require.Equal(t, a, b, name)
			continue
		}
		quantised++
		for i := range a.values {
			block := a.values[i/q8Block*q8Block:][:q8Block]
			most := 0.0
			for _, v := range block {
				most = math.Max(most, math.Abs(float64(v)))
			}
			// Half a step, and the rounding of the scale itself to 11 bits.
			require.InDelta(t, a.values[i], b.values[i], most/254+most/2048, "%s, number %d", name, i)
		}
	}
	// Of each side's layer: query, key, value, out, two of the feed-forward net;
	// the same first four of the attention to the sound; the embedding.
	require.Equal(t, 6+6+4+1, quantised)
}

func TestQuantizingRefusesWhatIsNoWholeModel(t *testing.T) {
	whole := convertSynthetic(t, newSynthetic(t))
	edit := func(at int, v uint32) []byte {
		b := bytes.Clone(whole)
		binary.LittleEndian.PutUint32(b[at:], v)
		return b
	}
	first := bytes.Index(whole, []byte("encoder.positional_embedding")) - 4*5 // rank, length, type, two dimensions
	for name, c := range map[string]struct {
		model []byte
		says  string
	}{
		"empty":               {nil, "EOF"},
		"cut in the header":   {whole[:30], "EOF"},
		"cut in the tokens":   {whole[:4*12+8+4*80*201+10], "EOF"},
		"cut in a tensor":     {whole[:len(whole)-3], "EOF"},
		"no model":            {edit(0, 1), "no Whisper model"},
		"quantised already":   {edit(44, ggmlFileQ8), "16-bit weights"},
		"a rank of millions":  {edit(first, 1<<20), "damaged"},
		"an endless name":     {edit(first+4, 1<<30), "damaged"},
		"another type":        {edit(first+8, 7), "damaged"},
		"a matrix of billion": {edit(first+12, 1<<31), "damaged"},
	} {
		t.Run(name, func(t *testing.T) {
			require.ErrorContains(t, Quantize(io.Discard, bytes.NewReader(c.model)), c.says)
		})
	}
	for _, room := range []int{0, 100_000} {
		require.ErrorIs(t, Quantize(&fullDisk{room}, bytes.NewReader(whole)), errFull, fmt.Sprint(room))
	}
}

func FuzzQuantize(f *testing.F) {
	whole := convertSynthetic(f, newSynthetic(f))
	f.Add(whole[:2000])
	f.Add(whole)
	f.Fuzz(func(t *testing.T, model []byte) {
		// No input may panic or allocate without bound; an error is right.
		_ = Quantize(io.Discard, bytes.NewReader(model))
	})
}

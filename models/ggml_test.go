package models

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func convertSynthetic(t testing.TB, s synthetic) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, Convert(&out, bytes.NewReader(s.model), int64(len(s.model)), strings.NewReader(s.vocabulary)))
	return out.Bytes()
}

// Names, order of dimensions and element types: convert-h5-to-ggml.py and
// whisper_model_load of whisper.cpp 1.9.1.
func TestConversionPutsEveryTensorUnderItsGGMLName(t *testing.T) {
	s := newSynthetic(t)
	header, _, tokens, tensors := readGGML(t, convertSynthetic(t, s))
	require.Equal(t, []int32{synTokens, synAudio, synWidth, 1, 1, synText, synWidth, 1, 1, 80, 1}, header)
	require.Len(t, tokens, synTokens)
	require.Equal(t, []byte{' ', 3, 203}, tokens[3])

	const n = synWidth
	third := func(name string, k int) []float32 { v := s.values[name]; m := len(v) / 3; return v[k*m : (k+1)*m] }
	half := func(name string, k int) []float32 { v := s.values[name]; m := len(v) / 2; return v[k*m : (k+1)*m] }
	type want struct {
		dims   []int32
		typ    int32
		values []float32
	}
	expect := map[string]want{
		"encoder.positional_embedding":             {[]int32{n, synAudio}, 0, s.values["encoder/position_encodings/encodings"]},
		"decoder.positional_embedding":             {[]int32{n, synText}, 0, s.values["decoder/position_encodings/encodings"]},
		"decoder.token_embedding.weight":           {[]int32{n, synTokens}, 1, s.values["decoder/embeddings/weight"]},
		"encoder.conv1.weight":                     {[]int32{3, 80, n}, 1, s.values["encoder/conv1/weight"]},
		"encoder.conv1.bias":                       {[]int32{1, n}, 0, s.values["encoder/conv1/bias"]},
		"encoder.conv2.weight":                     {[]int32{3, n, n}, 1, s.values["encoder/conv2/weight"]},
		"encoder.conv2.bias":                       {[]int32{1, n}, 0, s.values["encoder/conv2/bias"]},
		"encoder.ln_post.weight":                   {[]int32{n}, 0, s.values["encoder/layer_norm/gamma"]},
		"encoder.ln_post.bias":                     {[]int32{n}, 0, s.values["encoder/layer_norm/beta"]},
		"decoder.ln.weight":                        {[]int32{n}, 0, s.values["decoder/layer_norm/gamma"]},
		"decoder.ln.bias":                          {[]int32{n}, 0, s.values["decoder/layer_norm/beta"]},
		"decoder.blocks.0.cross_attn_ln.weight":    {[]int32{n}, 0, s.values["decoder/layer_0/attention/layer_norm/gamma"]},
		"decoder.blocks.0.cross_attn_ln.bias":      {[]int32{n}, 0, s.values["decoder/layer_0/attention/layer_norm/beta"]},
		"decoder.blocks.0.cross_attn.query.weight": {[]int32{n, n}, 1, s.values["decoder/layer_0/attention/linear_0/weight"]},
		"decoder.blocks.0.cross_attn.query.bias":   {[]int32{n}, 0, s.values["decoder/layer_0/attention/linear_0/bias"]},
		"decoder.blocks.0.cross_attn.key.weight":   {[]int32{n, n}, 1, half("decoder/layer_0/attention/linear_1/weight", 0)},
		"decoder.blocks.0.cross_attn.value.weight": {[]int32{n, n}, 1, half("decoder/layer_0/attention/linear_1/weight", 1)},
		"decoder.blocks.0.cross_attn.value.bias":   {[]int32{n}, 0, half("decoder/layer_0/attention/linear_1/bias", 1)},
		"decoder.blocks.0.cross_attn.out.weight":   {[]int32{n, n}, 1, s.values["decoder/layer_0/attention/linear_2/weight"]},
		"decoder.blocks.0.cross_attn.out.bias":     {[]int32{n}, 0, s.values["decoder/layer_0/attention/linear_2/bias"]},
	}
	for _, side := range []string{"encoder", "decoder"} {
		from, to := side+"/layer_0/", side+".blocks.0."
		stacked := from + "self_attention/linear_0/"
		expect[to+"attn_ln.weight"] = want{[]int32{n}, 0, s.values[from+"self_attention/layer_norm/gamma"]}
		expect[to+"attn_ln.bias"] = want{[]int32{n}, 0, s.values[from+"self_attention/layer_norm/beta"]}
		expect[to+"attn.query.weight"] = want{[]int32{n, n}, 1, third(stacked+"weight", 0)}
		expect[to+"attn.query.bias"] = want{[]int32{n}, 0, third(stacked+"bias", 0)}
		expect[to+"attn.key.weight"] = want{[]int32{n, n}, 1, third(stacked+"weight", 1)}
		expect[to+"attn.value.weight"] = want{[]int32{n, n}, 1, third(stacked+"weight", 2)}
		expect[to+"attn.value.bias"] = want{[]int32{n}, 0, third(stacked+"bias", 2)}
		expect[to+"attn.out.weight"] = want{[]int32{n, n}, 1, s.values[from+"self_attention/linear_1/weight"]}
		expect[to+"attn.out.bias"] = want{[]int32{n}, 0, s.values[from+"self_attention/linear_1/bias"]}
		expect[to+"mlp_ln.weight"] = want{[]int32{n}, 0, s.values[from+"ffn/layer_norm/gamma"]}
		expect[to+"mlp_ln.bias"] = want{[]int32{n}, 0, s.values[from+"ffn/layer_norm/beta"]}
		expect[to+"mlp.0.weight"] = want{[]int32{n, 4 * n}, 1, s.values[from+"ffn/linear_0/weight"]}
		expect[to+"mlp.0.bias"] = want{[]int32{4 * n}, 0, s.values[from+"ffn/linear_0/bias"]}
		expect[to+"mlp.2.weight"] = want{[]int32{4 * n, n}, 1, s.values[from+"ffn/linear_1/weight"]}
		expect[to+"mlp.2.bias"] = want{[]int32{n}, 0, s.values[from+"ffn/linear_1/bias"]}
	}
	require.Len(t, tensors, len(expect))
	for name, w := range expect {
		got, ok := tensors[name]
		require.True(t, ok, name)
		require.Equal(t, w.dims, got.dims, name)
		require.Equal(t, w.typ, got.typ, name)
		require.Equal(t, w.values, got.values, name)
	}
}

func TestConversionRefusesWhatIsNoWholeModel(t *testing.T) {
	s := newSynthetic(t)
	convert := func(model []byte, vocabulary string) error {
		return Convert(io.Discard, bytes.NewReader(model), int64(len(model)), strings.NewReader(vocabulary))
	}
	edit := func(change func(b []byte)) []byte { b := bytes.Clone(s.model); change(b); return b }
	for name, c := range map[string]struct {
		model      []byte
		vocabulary string
		says       string
	}{
		"empty":                {nil, s.vocabulary, "ends inside"},
		"cut in a tensor":      {s.model[:len(s.model)/2], s.vocabulary, "ends inside"},
		"cut in the header":    {s.model[:9], s.vocabulary, "ends inside"},
		"another version":      {edit(func(b []byte) { b[0] = 5 }), s.vocabulary, "binary version 5"},
		"another kind":         {edit(func(b []byte) { b[6] = 'V' }), s.vocabulary, "not a Whisper model"},
		"a huge count":         {edit(func(b []byte) { b[25] = 0xff }), s.vocabulary, "more than any Whisper model"},
		"too few tokens":       {s.model, "a\nb\n", "2 tokens"},
		"an unreadable token":  {s.model, "a\n\u4e2d\n", "vocabulary line 2"},
		"a different variable": {bytes.Replace(s.model, []byte("encoder/conv1/bias"), []byte("encoder/conv9/bias"), 1), s.vocabulary, `"encoder/conv1/bias" is missing`},
	} {
		t.Run(name, func(t *testing.T) {
			require.ErrorContains(t, convert(c.model, c.vocabulary), c.says)
		})
	}
}

type fullDisk struct{ room int }

var errFull = errors.New("full")

func (f *fullDisk) Write(b []byte) (int, error) {
	if f.room -= len(b); f.room < 0 {
		return 0, errFull
	}
	return len(b), nil
}

func TestConversionReportsAFullDisk(t *testing.T) {
	s := newSynthetic(t)
	whole := len(convertSynthetic(t, s))
	for _, room := range []int{0, 100_000, whole - 1} {
		err := Convert(&fullDisk{room}, bytes.NewReader(s.model), int64(len(s.model)), strings.NewReader(s.vocabulary))
		require.ErrorIs(t, err, errFull)
	}
}

// The filters OpenAI's Whisper ships are mel_filters.npz of openai-whisper
// 20250625 (PyPI), made with librosa; ours were compared with them number by
// number: all 16 080 are equal. This is the SHA-256 of those numbers, with
// their one negative zero written as zero.
func TestMelFiltersAreWhispersOwn(t *testing.T) {
	sum := sha256.New()
	for _, band := range melFilters() {
		require.NoError(t, binary.Write(sum, binary.LittleEndian, band[:]))
	}
	require.Equal(t, "85818f156f7e189453901a515e4726d270d307f976e161cf9403e8caab405498", hex.EncodeToString(sum.Sum(nil)))
}

// IEEE 754-2008 binary16: the examples are those of its interchange format
// (largest subnormal and normal number, ties, overflow).
func TestHalfFloatsRoundAsIEEE754Says(t *testing.T) {
	for _, c := range []struct {
		f float32
		h uint16
	}{
		{0, 0}, {float32(math.Copysign(0, -1)), 0x8000}, {1, 0x3c00}, {-2, 0xc000},
		{65504, 0x7bff}, {65519, 0x7bff}, {65520, 0x7c00}, {1e9, 0x7c00},
		{float32(math.Inf(-1)), 0xfc00},
		{5.9604645e-8, 0x0001}, {2.9802322e-8, 0}, {6.097555e-5, 0x03ff}, {6.1035156e-5, 0x0400},
		{1 + 1.0/2048, 0x3c00}, {1 + 3.0/2048, 0x3c02}, {0.333251953125, 0x3555},
	} {
		require.Equal(t, c.h, floatToHalf(c.f), "%g", c.f)
	}
	require.True(t, math.IsNaN(float64(halfToFloat(floatToHalf(float32(math.NaN()))))))
	for h := range 1 << 16 {
		if f := halfToFloat(uint16(h)); !math.IsNaN(float64(f)) {
			require.Equal(t, uint16(h), floatToHalf(f), "every half must come back as itself")
		}
	}
}

// The table of GPT-2's encoder (bytes_to_unicode): space is Ġ, newline Ċ, and
// all 256 bytes have a spelling of their own.
func TestEveryByteHasItsTokenSpelling(t *testing.T) {
	require.Equal(t, "Ġthe", spellToken([]byte(" the")))
	require.Equal(t, "Ċ", spellToken([]byte("\n")))
	require.Len(t, bpeBytes, 256)
	for b := range 256 {
		back, err := decodeToken(spellToken([]byte{byte(b)}))
		require.NoError(t, err)
		require.Equal(t, []byte{byte(b)}, back)
	}
}

// The sizes of the 16-bit files are those that whisper.cpp's authors publish. The
// 8-bit ones have the size and the SHA-256 of what whisper.cpp 1.9.1's own tool
// quantize makes of these (examples/quantize, q8_0).
func TestTheRealModelsConvertToTheirPublishedSizes(t *testing.T) {
	for name, size := range map[string]int64{
		"tiny.en-f16": 77_704_715, "base-f16": 147_951_465,
		"tiny.en": 43_550_795, "base": 81_768_585,
	} {
		t.Run(name, func(t *testing.T) {
			m, err := find(name)
			require.NoError(t, err)
			require.Equal(t, size, m.Files[0].Bytes)
			if _, err := Path(name); err != nil {
				t.Skipf("the real model is not on this machine: %v", err)
			}
			require.NoError(t, Verify(context.Background(), nil, name))
		})
	}
}

func FuzzConvert(f *testing.F) {
	s := newSynthetic(f)
	f.Add(s.model[:2000], s.vocabulary)
	f.Add(s.model[:30], "a\n")
	f.Add([]byte{6, 0, 0, 0, 0, 0}, "")
	f.Fuzz(func(t *testing.T, model []byte, vocabulary string) {
		// No input may panic or allocate without bound; an error is right.
		_ = Convert(io.Discard, bytes.NewReader(model), int64(len(model)), strings.NewReader(vocabulary))
	})
}

package models

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// ggmlMagic opens every file of the form whisper.cpp reads.
const ggmlMagic = 0x67676d6c

// Element types of a tensor in a ggml file.
const (
	ggmlFloat32 = 0
	ggmlFloat16 = 1
)

// whisperShape holds the numbers that fix a Whisper model's layout.
type whisperShape struct {
	vocabulary    int // rows of the token embedding
	tokens        int // byte strings stored in the ggml file
	audioContext  int
	textContext   int
	width         int
	heads         int
	encoderLayers int
	decoderLayers int
	multilingual  bool
}

// Layout numbers fixed for every Whisper model this package converts.
const (
	whisperHeadWidth     = 64 // OpenAI's Whisper paper, table 1: width / heads
	whisperEnglishTokens = 51864
)

// shapeOf derives the layout from the shapes of the variables.
func shapeOf(f *ct2File) (whisperShape, error) {
	embedding := f.shape("decoder/embeddings/weight")
	audio := f.shape("encoder/position_encodings/encodings")
	text := f.shape("decoder/position_encodings/encodings")
	if len(embedding) != 2 || len(audio) != 2 || len(text) != 2 {
		return whisperShape{}, fmt.Errorf("CTranslate2 file: embeddings are missing or have the wrong rank: it is no whole Whisper model")
	}
	s := whisperShape{
		vocabulary:   embedding[0],
		audioContext: audio[0],
		textContext:  text[0],
		width:        embedding[1],
		heads:        embedding[1] / whisperHeadWidth,
		multilingual: embedding[0] > whisperEnglishTokens,
		tokens:       50257,
	}
	if s.vocabulary < whisperEnglishTokens {
		// A vocabulary smaller than Whisper's is stored whole: no such model
		// is published, the converter's own test uses one.
		s.tokens = s.vocabulary
	}
	for f.shape(fmt.Sprintf("encoder/layer_%d/self_attention/linear_0/weight", s.encoderLayers)) != nil {
		s.encoderLayers++
	}
	for f.shape(fmt.Sprintf("decoder/layer_%d/self_attention/linear_0/weight", s.decoderLayers)) != nil {
		s.decoderLayers++
	}
	if s.encoderLayers == 0 || s.decoderLayers == 0 {
		return whisperShape{}, fmt.Errorf("CTranslate2 file: no encoder or no decoder layers: it is no whole Whisper model")
	}
	return s, nil
}

// Convert turns a Whisper model in CTranslate2 form (model of size bytes,
// float16 or float32) and its vocabulary (one token a line) into the ggml
// file whisper.cpp reads, with 16-bit weights. It needs little memory: the
// weights are copied through.
//
// The form of the result is the one written by convert-h5-to-ggml.py of
// whisper.cpp: hyper-parameters, mel filters, vocabulary, tensors.
func Convert(w io.Writer, model io.ReaderAt, size int64, vocabulary io.Reader) error {
	f, err := readCT2(model, size)
	if err != nil {
		return err
	}
	shape, err := shapeOf(f)
	if err != nil {
		return err
	}
	tokens, err := readVocabulary(vocabulary, shape.tokens)
	if err != nil {
		return err
	}
	g := &ggmlWriter{w: bufio.NewWriterSize(w, 1<<18), from: f}
	g.header(shape)
	g.vocabulary(tokens)
	g.encoder(shape)
	g.decoder(shape)
	if g.err == nil {
		g.err = g.w.Flush()
	}
	if g.err != nil {
		return fmt.Errorf("writing the ggml file: %w", g.err)
	}
	return nil
}

// ggmlWriter writes the parts of a ggml file and keeps the first error.
type ggmlWriter struct {
	w    *bufio.Writer
	from *ct2File
	err  error
}

func (g *ggmlWriter) ints(values ...int) {
	for _, v := range values {
		if g.err == nil {
			g.err = binary.Write(g.w, binary.LittleEndian, int32(v))
		}
	}
}

func (g *ggmlWriter) bytes(b []byte) {
	if g.err == nil {
		_, g.err = g.w.Write(b)
	}
}

func (g *ggmlWriter) header(s whisperShape) {
	g.ints(ggmlMagic, s.vocabulary,
		s.audioContext, s.width, s.heads, s.encoderLayers,
		s.textContext, s.width, s.heads, s.decoderLayers,
		melBands, ggmlFloat16)
	g.ints(melBands, melBins)
	for _, band := range melFilters() {
		for _, weight := range band {
			g.ints(int(int32(math.Float32bits(weight))))
		}
	}
}

func (g *ggmlWriter) vocabulary(tokens [][]byte) {
	g.ints(len(tokens))
	for _, token := range tokens {
		g.ints(len(token))
		g.bytes(token)
	}
}

func (g *ggmlWriter) encoder(s whisperShape) {
	g.matrix("encoder.positional_embedding", "encoder/position_encodings/encodings", ggmlFloat32, s.audioContext, s.width)
	g.convolution("encoder.conv1", "encoder/conv1", melBands, s.width)
	g.convolution("encoder.conv2", "encoder/conv2", s.width, s.width)
	for i := range s.encoderLayers {
		to, from := fmt.Sprintf("encoder.blocks.%d", i), fmt.Sprintf("encoder/layer_%d", i)
		g.selfAttention(to, from, s.width)
		g.feedForward(to, from, s.width)
	}
	g.norm("encoder.ln_post", "encoder/layer_norm", s.width)
}

func (g *ggmlWriter) decoder(s whisperShape) {
	g.matrix("decoder.positional_embedding", "decoder/position_encodings/encodings", ggmlFloat32, s.textContext, s.width)
	g.matrix("decoder.token_embedding.weight", "decoder/embeddings/weight", ggmlFloat16, s.vocabulary, s.width)
	for i := range s.decoderLayers {
		to, from := fmt.Sprintf("decoder.blocks.%d", i), fmt.Sprintf("decoder/layer_%d", i)
		g.selfAttention(to, from, s.width)
		g.crossAttention(to, from, s.width)
		g.feedForward(to, from, s.width)
	}
	g.norm("decoder.ln", "decoder/layer_norm", s.width)
}

// selfAttention takes linear_0 apart: query, key and value stacked. Whisper's
// key has no bias, so that third of the stacked bias is left behind.
func (g *ggmlWriter) selfAttention(to, from string, n int) {
	from += "/self_attention"
	g.norm(to+".attn_ln", from+"/layer_norm", n)
	g.weightRows(to+".attn.query", from+"/linear_0", 3*n, n, 0)
	g.biasRows(to+".attn.query", from+"/linear_0", 3*n, n, 0)
	g.weightRows(to+".attn.key", from+"/linear_0", 3*n, n, 1)
	g.weightRows(to+".attn.value", from+"/linear_0", 3*n, n, 2)
	g.biasRows(to+".attn.value", from+"/linear_0", 3*n, n, 2)
	g.linear(to+".attn.out", from+"/linear_1", n, n)
}

// crossAttention: linear_0 is the query, linear_1 key and value stacked.
func (g *ggmlWriter) crossAttention(to, from string, n int) {
	from += "/attention"
	g.norm(to+".cross_attn_ln", from+"/layer_norm", n)
	g.linear(to+".cross_attn.query", from+"/linear_0", n, n)
	g.weightRows(to+".cross_attn.key", from+"/linear_1", 2*n, n, 0)
	g.weightRows(to+".cross_attn.value", from+"/linear_1", 2*n, n, 1)
	g.biasRows(to+".cross_attn.value", from+"/linear_1", 2*n, n, 1)
	g.linear(to+".cross_attn.out", from+"/linear_2", n, n)
}

func (g *ggmlWriter) feedForward(to, from string, n int) {
	g.norm(to+".mlp_ln", from+"/ffn/layer_norm", n)
	g.linear(to+".mlp.0", from+"/ffn/linear_0", 4*n, n)
	g.linear(to+".mlp.2", from+"/ffn/linear_1", n, 4*n)
}

func (g *ggmlWriter) norm(to, from string, n int) {
	g.vector(to+".weight", from+"/gamma", n)
	g.vector(to+".bias", from+"/beta", n)
}

func (g *ggmlWriter) linear(to, from string, rows, columns int) {
	g.matrix(to+".weight", from+"/weight", ggmlFloat16, rows, columns)
	g.vector(to+".bias", from+"/bias", rows)
}

func (g *ggmlWriter) convolution(to, from string, in, out int) {
	g.tensor(to+".weight", from+"/weight", ggmlFloat16, []int{out, in, 3}, 0, out, []int{out, in, 3})
	g.tensor(to+".bias", from+"/bias", ggmlFloat32, []int{out}, 0, out, []int{out, 1})
}

func (g *ggmlWriter) matrix(to, from string, typ, rows, columns int) {
	g.tensor(to, from, typ, []int{rows, columns}, 0, rows, []int{rows, columns})
}

func (g *ggmlWriter) vector(to, from string, n int) {
	g.tensor(to, from, ggmlFloat32, []int{n}, 0, n, []int{n})
}

// weightRows writes the k-th block of n rows of a stacked weight.
func (g *ggmlWriter) weightRows(to, from string, stacked, n, k int) {
	g.tensor(to+".weight", from+"/weight", ggmlFloat16, []int{stacked, n}, k*n, (k+1)*n, []int{n, n})
}

// biasRows writes the k-th block of n values of a stacked bias.
func (g *ggmlWriter) biasRows(to, from string, stacked, n, k int) {
	g.tensor(to+".bias", from+"/bias", ggmlFloat32, []int{stacked}, k*n, (k+1)*n, []int{n})
}

// tensor writes rows [first, last) of a variable of the given shape under a
// new name, element type and outward shape.
func (g *ggmlWriter) tensor(to, from string, typ int, shape []int, first, last int, outward []int) {
	if g.err != nil {
		return
	}
	rows, have, err := g.from.rows(from, shape, first, last)
	if err != nil {
		g.err = err
		return
	}
	g.ints(len(outward), len(to), typ)
	elements := 1
	for i := range outward {
		d := outward[len(outward)-1-i]
		g.ints(d)
		elements *= d
	}
	g.bytes([]byte(to))
	if g.err == nil {
		g.err = copyFloats(g.w, typ, rows, have, elements)
	}
	if g.err != nil {
		g.err = fmt.Errorf("tensor %s: %w", to, g.err)
	}
}

// copyFloats copies n numbers, changing their width where the types differ.
func copyFloats(w io.Writer, typ int, r io.Reader, have ct2Type, n int) error {
	if typ == ggmlFloat16 && have == ct2Float16 || typ == ggmlFloat32 && have == ct2Float32 {
		_, err := io.CopyN(w, r, int64(n)*have.size())
		return err
	}
	const batch = 4096
	in, out := make([]byte, batch*4), make([]byte, batch*4)
	for n > 0 {
		k := min(n, batch)
		n -= k
		if typ == ggmlFloat32 {
			if _, err := io.ReadFull(r, in[:2*k]); err != nil {
				return err
			}
			for i := range k {
				f := halfToFloat(binary.LittleEndian.Uint16(in[2*i:]))
				binary.LittleEndian.PutUint32(out[4*i:], math.Float32bits(f))
			}
			if _, err := w.Write(out[:4*k]); err != nil {
				return err
			}
			continue
		}
		if _, err := io.ReadFull(r, in[:4*k]); err != nil {
			return err
		}
		for i := range k {
			f := math.Float32frombits(binary.LittleEndian.Uint32(in[4*i:]))
			binary.LittleEndian.PutUint16(out[2*i:], floatToHalf(f))
		}
		if _, err := w.Write(out[:2*k]); err != nil {
			return err
		}
	}
	return nil
}

package models

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// The CTranslate2 container, little endian: u32 binary version (6), string
// specification name, u32 revision, u32 count of variables; each variable is
// a string name, u8 rank, u32 per dimension, u8 element type, u32 byte count
// and the data; then a u32 count of aliases, each a pair of strings. A string
// is a u16 length that counts the closing NUL, then the bytes.
const (
	ct2Version      = 6
	ct2MaxVariables = 1 << 14 // Whisper's largest model has under 2000
	ct2MaxRank      = 4
)

// ct2Type is the element type of a CTranslate2 variable.
type ct2Type uint8

const (
	ct2Float32 ct2Type = 0
	ct2Int8    ct2Type = 1
	ct2Int16   ct2Type = 2
	ct2Int32   ct2Type = 3
	ct2Float16 ct2Type = 4
)

// size is the number of bytes of one element, 0 for an unknown type.
func (t ct2Type) size() int64 {
	switch t {
	case ct2Float32, ct2Int32:
		return 4
	case ct2Int16, ct2Float16:
		return 2
	case ct2Int8:
		return 1
	}
	return 0
}

// ct2Variable says where one variable's data lies in the file.
type ct2Variable struct {
	dims   []int
	typ    ct2Type
	offset int64
	bytes  int64
}

// ct2File is the table of contents of a CTranslate2 model file; the data stay on disk.
type ct2File struct {
	data io.ReaderAt
	vars map[string]ct2Variable
}

// readCT2 reads the table of contents of a CTranslate2 file of the given
// size in bytes. Every length is checked against what is left of the file, so
// that a damaged file is an error and never a large allocation.
func readCT2(data io.ReaderAt, size int64) (*ct2File, error) {
	c := &ct2Cursor{data: data, size: size}
	if version := c.u32("binary version"); c.err == nil && version != ct2Version {
		return nil, fmt.Errorf("CTranslate2 file: binary version %d, this program reads version %d", version, ct2Version)
	}
	if spec := c.str("specification name"); c.err == nil && spec != "WhisperSpec" {
		return nil, fmt.Errorf("CTranslate2 file: it holds a %q, not a Whisper model", spec)
	}
	c.u32("revision")
	count := c.u32("count of variables")
	if c.err == nil && count > ct2MaxVariables {
		return nil, fmt.Errorf("CTranslate2 file: it claims %d variables, more than any Whisper model has", count)
	}
	f := &ct2File{data: data, vars: make(map[string]ct2Variable)}
	for range count {
		if c.err != nil {
			break
		}
		name := c.str("variable name")
		v := c.variable(name)
		if c.err != nil {
			break
		}
		if _, twice := f.vars[name]; twice {
			return nil, fmt.Errorf("CTranslate2 file: variable %q occurs twice", name)
		}
		f.vars[name] = v
	}
	if c.err != nil {
		return nil, fmt.Errorf("CTranslate2 file: %w", c.err)
	}
	return f, nil
}

// ct2Cursor walks through the file and keeps the first error.
type ct2Cursor struct {
	data io.ReaderAt
	pos  int64
	size int64
	err  error
}

func (c *ct2Cursor) take(n int64, what string) []byte {
	if c.err != nil {
		return make([]byte, n)
	}
	buf := make([]byte, n)
	if c.pos+n > c.size {
		c.err = fmt.Errorf("it ends inside %s at byte %d of %d", what, c.pos, c.size)
		return buf
	}
	if _, err := c.data.ReadAt(buf, c.pos); err != nil && !errors.Is(err, io.EOF) {
		c.err = fmt.Errorf("reading %s at byte %d: %w", what, c.pos, err)
	}
	c.pos += n
	return buf
}

func (c *ct2Cursor) u32(what string) uint32 { return binary.LittleEndian.Uint32(c.take(4, what)) }

func (c *ct2Cursor) str(what string) string {
	n := int64(binary.LittleEndian.Uint16(c.take(2, what)))
	if c.err == nil && n == 0 {
		c.err = fmt.Errorf("%s at byte %d is a string without its closing NUL", what, c.pos)
	}
	if c.err != nil {
		return ""
	}
	b := c.take(n, what)
	return string(b[:n-1])
}

func (c *ct2Cursor) variable(name string) ct2Variable {
	rank := int(c.take(1, "rank of "+name)[0])
	if c.err == nil && rank > ct2MaxRank {
		c.err = fmt.Errorf("variable %q has %d dimensions", name, rank)
	}
	if c.err != nil {
		return ct2Variable{}
	}
	v := ct2Variable{dims: make([]int, rank)}
	elements := int64(1)
	for i := range v.dims {
		d := int64(c.u32("dimensions of " + name))
		v.dims[i] = int(d)
		if c.err == nil && d > 0 && elements > c.size/d {
			c.err = fmt.Errorf("variable %q claims to be larger than the file", name)
		}
		if c.err != nil {
			return v
		}
		elements *= d
	}
	v.typ = ct2Type(c.take(1, "type of "+name)[0])
	v.bytes = int64(c.u32("size of " + name))
	v.offset = c.pos
	switch {
	case c.err != nil:
	case v.typ.size() == 0:
		c.err = fmt.Errorf("variable %q has the unknown element type %d", name, v.typ)
	case v.bytes != elements*v.typ.size():
		c.err = fmt.Errorf("variable %q says %d bytes for %v elements of %d bytes", name, v.bytes, v.dims, v.typ.size())
	case c.pos+v.bytes > c.size:
		c.err = fmt.Errorf("it ends inside variable %q: %d bytes wanted from byte %d, the file has %d", name, v.bytes, c.pos, c.size)
	}
	c.pos += v.bytes
	return v
}

// rows opens rows [from, to) of the variable's first dimension as raw bytes,
// after checking that it has the shape and the type float16 or float32 wanted.
func (f *ct2File) rows(name string, shape []int, from, to int) (io.Reader, ct2Type, error) {
	v, ok := f.vars[name]
	if !ok {
		return nil, 0, fmt.Errorf("CTranslate2 file: variable %q is missing", name)
	}
	if v.typ != ct2Float16 && v.typ != ct2Float32 {
		return nil, 0, fmt.Errorf("CTranslate2 file: variable %q is quantised (element type %d); only float16 and float32 can be converted", name, v.typ)
	}
	if len(v.dims) != len(shape) {
		return nil, 0, fmt.Errorf("CTranslate2 file: variable %q has shape %v, wanted %v", name, v.dims, shape)
	}
	for i := range shape {
		if v.dims[i] != shape[i] {
			return nil, 0, fmt.Errorf("CTranslate2 file: variable %q has shape %v, wanted %v", name, v.dims, shape)
		}
	}
	row := v.typ.size()
	for _, d := range v.dims[1:] {
		row *= int64(d)
	}
	section := io.NewSectionReader(f.data, v.offset+int64(from)*row, int64(to-from)*row)
	return bufio.NewReaderSize(section, 1<<16), v.typ, nil
}

// shape is the shape of a variable, nil when there is none of that name.
func (f *ct2File) shape(name string) []int { return f.vars[name].dims }

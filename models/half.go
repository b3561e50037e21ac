package models

import "math"

// halfToFloat widens an IEEE 754 binary16 number; the result is exact.
func halfToFloat(h uint16) float32 {
	sign := uint32(h>>15) << 31
	exponent := uint32(h >> 10 & 0x1f)
	fraction := uint32(h & 0x3ff)
	switch exponent {
	case 0: // zero and the subnormals: fraction × 2⁻²⁴
		f := float32(fraction) * (1.0 / (1 << 24))
		return math.Float32frombits(sign | math.Float32bits(f))
	case 0x1f: // infinity and not-a-number
		return math.Float32frombits(sign | 0xff<<23 | fraction<<13)
	}
	return math.Float32frombits(sign | (exponent+127-15)<<23 | fraction<<13)
}

// floatToHalf rounds to the nearest IEEE 754 binary16 number, ties to even.
func floatToHalf(f float32) uint16 {
	bits := math.Float32bits(f)
	sign := uint16(bits >> 16 & 0x8000)
	magnitude := bits & 0x7fffffff
	switch {
	case magnitude > 0xff<<23: // not-a-number stays one
		return sign | 0x7e00
	case magnitude >= (127+16)<<23: // 65536 and beyond
		return sign | 0x7c00
	case magnitude < (127-14)<<23: // subnormal: multiples of 2⁻²⁴
		a := math.Float32frombits(magnitude)
		return sign | uint16(math.RoundToEven(float64(a)*(1<<24)))
	}
	// Rounding up may carry into the exponent, up to infinity: that is right.
	half := magnitude - (127-15)<<23
	half += 0xfff + half>>13&1
	return sign | uint16(half>>13)
}

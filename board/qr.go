package board

import (
	"fmt"
	"strings"

	"rsc.io/qr"
)

// terminalQR draws text as a QR code of half blocks, two rows a line, in explicit black
// and white so that it scans on any terminal. A quiet zone of four modules surrounds
// it, as ISO/IEC 18004 asks.
func terminalQR(text string) (string, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("no QR code for %d characters: %w", len(text), err)
	}
	const quiet = 4
	var b strings.Builder
	for y := -quiet; y < code.Size+quiet; y += 2 {
		b.WriteString("\x1b[30;107m")
		for x := -quiet; x < code.Size+quiet; x++ {
			upper, lower := code.Black(x, y), code.Black(x, y+1)
			switch {
			case upper && lower:
				b.WriteString("█")
			case upper:
				b.WriteString("▀")
			case lower:
				b.WriteString("▄")
			default:
				b.WriteByte(' ')
			}
		}
		b.WriteString("\x1b[0m\n")
	}
	return b.String(), nil
}

package fastening

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The words are those of the project's list of how sizes are said (common practice, no source).
func TestSizesKeepWhatWasSaidAndItsKind(t *testing.T) {
	for text, want := range map[string]struct {
		kind         Kind
		size, thread string
	}{
		"M8": {KindThread, "", "M8"}, "M8x1": {KindThread, "", "M8x1"}, "quarter twenty": {KindThread, "", "1/4-20"}, "ten by one twenty-five": {KindThread, "", "M10x1.25"},
		"M8 10.9": {KindThread, "", "M8"},
		"ten mil": {KindUnknown, "10 mm", ""}, "the ten": {KindUnknown, "10 mm", ""}, "tens": {KindUnknown, "10 mm", ""}, "ten": {KindUnknown, "10 mm", ""},
		"ten mil bolt": {KindUnknown, "10 mm", ""}, "sixes": {KindUnknown, "6 mm", ""}, "10 mm": {KindUnknown, "10 mm", ""},
		"ten mil head": {KindWrench, "10 mm", ""}, "12 mm head": {KindWrench, "12 mm", ""}, "thirteen spanner": {KindWrench, "13 mm", ""},
		"nine sixteenths": {KindWrench, "9/16 in", ""}, "9/16": {KindWrench, "9/16 in", ""}, "three quarters": {KindWrench, "3/4 in", ""},
		"five mil allen": {KindHexKey, "5 mm", ""}, "6 mm hex key": {KindHexKey, "6 mm", ""}, "ten thread": {KindThread, "10 mm", ""},
		"T thirty": {KindDrive, "", ""}, "T30": {KindDrive, "", ""}, "E twelve": {KindDrive, "", ""}, "triple square ten": {KindDrive, "", ""}, "twelve point": {KindDrive, "", ""},
		"three-eighths drive": {KindDrive, "", ""},
	} {
		k, err := ParseSize(text)
		require.NoError(t, err, text)
		require.Equal(t, want.kind, k.Kind, text)
		require.Equal(t, want.thread, k.Thread, text)
		require.Equal(t, text, k.Said)
		if want.size == "" {
			require.False(t, k.Size.Given(), text)
		} else {
			require.Equal(t, want.size, k.Size.String(), text)
		}
	}
	for _, text := range []string{"", "bananas", "ninety-nine hundred", "the", "-5 mm"} {
		_, err := ParseSize(text)
		require.Error(t, err, text)
	}
}

func FuzzParseSize(f *testing.F) {
	for _, s := range []string{"ten mil head", "T thirty", "nine sixteenths", "tens", "M8", "the"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if k, err := ParseSize(text); err == nil {
			require.True(t, k.Size.Given() || k.Thread != "" || k.Kind == KindDrive, text)
		}
	})
}

func TestWhatOnlyTheManualMayDecideIsKnown(t *testing.T) {
	for _, name := range []string{"front brake caliper bolts", "steering column clamp", "lifting eye"} {
		s, yes := ManualOnly(name)
		require.True(t, yes, name)
		require.Contains(t, s, "maker's manual")
	}
	_, yes := ManualOnly("front cover short")
	require.False(t, yes)
}

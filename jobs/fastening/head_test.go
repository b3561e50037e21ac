package fastening

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/jobs/measure"
)

// PyPI bd_warehouse 0.4.0, CSV tables, recorded by scripts/reference-check.
func TestHeadsAgreeWithBdWarehouse(t *testing.T) {
	ref := recorded(t)
	checked := 0
	for _, h := range Heads() {
		table, ok := ref.Heads[string(h.Kind)]
		if !ok || h.Source != srcHeads {
			continue
		}
		want, ok := table[h.Nominal]
		require.True(t, ok, "%s %s claims to come from there", h.Nominal, h.Kind)
		require.Equal(t, want, h.Across.Amount, "%s %s, %s", h.Nominal, h.Kind, ref.HeadSource)
		checked++
	}
	require.Greater(t, checked, 40)
}

// The list of wrench sizes of the project's trade facts: bd_warehouse for ISO,
// DIN and flange, a maker's printed JIS-to-ISO table for JIS.
func TestAWrenchSizeIsAListOfThreads(t *testing.T) {
	for mm, want := range map[float64][]string{
		8: {"M5", "M6"}, 10: {"M6", "M8"}, 12: {"M8"}, 13: {"M8", "M10"}, 14: {"M10"}, 15: {"M12", "M10"}, 16: {"M10", "M12"},
		17: {"M10", "M12"}, 18: {"M12", "M14"}, 19: {"M12", "M14"}, 21: {"M14", "M16"}, 22: {"M14", "M16"}, 24: {"M16"},
	} {
		got := map[string]bool{}
		for _, h := range ThreadsTaking(measure.Quantity{Amount: mm, Unit: measure.Millimetre}) {
			got[h.Nominal] = true
		}
		require.Len(t, got, len(want), "%g mm: %v", mm, got)
		for _, n := range want {
			require.True(t, got[n], "%g mm takes %s", mm, n)
		}
	}
	// Inch hex cap screws, published tables.
	for in, want := range map[string]string{"7/16 in": "1/4", "1/2 in": "5/16", "9/16 in": "3/8", "5/8 in": "7/16", "3/4 in": "1/2", "15/16 in": "5/8", "1-1/8 in": "3/4"} {
		hs := ThreadsTaking(mustRead(t, in))
		require.Len(t, hs, 1, in)
		require.Equal(t, want, hs[0].Nominal, in)
	}
	require.Empty(t, ThreadsTaking(measure.Quantity{Amount: 20, Unit: measure.Millimetre}))
	require.Empty(t, ThreadsTaking(mustRead(t, "12.7 mm")), "half an inch is not sold in millimetres")
	keys := ThreadsForKey(measure.Quantity{Amount: 6, Unit: measure.Millimetre})
	require.Len(t, keys, 1)
	require.Equal(t, "M8", keys[0].Nominal)
}

func TestHeadsAndThreadsFindEachOther(t *testing.T) {
	for _, h := range Heads() {
		list := ThreadsTaking(h.Across)
		if h.Kind == HeadSocket {
			list = ThreadsForKey(h.Across)
		}
		require.Contains(t, list, h)
		require.Contains(t, HeadsOf(h.Nominal), h)
	}
}

func TestNearFitsAreToldApart(t *testing.T) {
	n, ok := NearFitOf(mustRead(t, "13 mm"))
	require.True(t, ok)
	require.Equal(t, "1/2 in", n.Inch.String())
	require.False(t, n.Fits)
	n, ok = NearFitOf(mustRead(t, "3/4 in"))
	require.True(t, ok)
	require.True(t, n.Fits)
	_, ok = NearFitOf(mustRead(t, "10 mm"))
	require.False(t, ok)
}

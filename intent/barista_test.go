package intent

import (
	"encoding/json"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// testdata finds the folder of recordings and labels that is kept beside the
// project, or skips.
func testdata(t testing.TB) string {
	dir := os.Getenv("PUTBACK_TESTDATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "shared", "data")
	}
	if _, err := os.Stat(dir); err != nil {
		t.Skip("needs the test recordings beside the project or in $PUTBACK_TESTDATA: " + err.Error())
	}
	return dir
}

// order is the shape of a sentence of the barista grammar; the labels of the
// set give its slots.
func sentence(slots map[string]string) string {
	var b strings.Builder
	b.WriteString("can I get a")
	for _, s := range []string{"size", "roast", "numberOfShots", "coffeeDrink"} {
		if v := slots[s]; v != "" {
			b.WriteString(" " + v)
		}
	}
	milk, sugar := slots["milkAmount"], slots["sugarAmount"]
	if milk != "" {
		b.WriteString(" with " + milk)
	}
	if sugar != "" {
		if milk == "" {
			b.WriteString(" with " + sugar)
		} else {
			b.WriteString(" and " + sugar)
		}
	}
	return b.String()
}

func TestEveryBaristaLabelIsReadWithItsSlotsExactly(t *testing.T) {
	dir := filepath.Join(testdata(t), "barista")
	raw, err := os.ReadFile(filepath.Join(dir, "labels.json"))
	require.NoError(t, err)
	var labels map[string]struct {
		Intent string
		Slots  map[string]string
	}
	require.NoError(t, json.Unmarshal(raw, &labels))
	g, err := LoadGrammar(filepath.Join(dir, "barista.jsgf"))
	require.NoError(t, err)
	require.Equal(t, []string{"order"}, g.Public())
	a, err := g.Compile()
	require.NoError(t, err)
	names := make([]string, 0, len(labels))
	for n := range labels {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		plain := sentence(labels[n].Slots)
		digits := strings.NewReplacer("eight ounce", "8-ounce", "twelve ounce", "12 ounce", "sixteen ounce", "16-oz", "twenty ounce", "20 oz.").Replace(plain)
		for _, text := range []string{plain, " " + strings.ToUpper(plain[:1]) + plain[1:] + ".", digits + "?", strings.ReplaceAll(plain, " with", ", with")} {
			r := a.Parse(text)
			require.Len(t, r, 1, text)
			require.Equal(t, "order", r[0].Rule, text)
			require.Equal(t, labels[n].Slots, r[0].Map(), text)
		}
	}
}

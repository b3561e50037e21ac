package intent

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestTheShopCompiles(t *testing.T) {
	at := time.Now()
	a, err := Shop(Vocabulary{Groups: []string{"front cover short", "front cover long", "pump bolts"}})
	require.NoError(t, err)
	t.Log(time.Since(at), a)
	for _, s := range []string{"took six tens off the front cover, two long at the bottom", "toolbox, what's next?", "torque for the pump bolts", "1-1/8", "thirty pounds"} {
		at = time.Now()
		for _, r := range a.Parse(s) {
			t.Log(s, r.Rule, r.Slots, r.Cost)
		}
		t.Log(time.Since(at), a)
	}
}

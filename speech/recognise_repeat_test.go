package speech

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestASentenceSaidTwiceRunningIsARepetition(t *testing.T) {
	for _, c := range []struct {
		text []int32
		next int32
		want int
	}{
		{nil, 1, 0},
		{[]int32{1, 1, 1}, 1, 0}, // "ten, ten, ten, ten" is a person
		{[]int32{1, 2, 3, 4, 5, 1, 2, 3, 4}, 5, 5},
		{[]int32{9, 1, 2, 3, 4, 5, 1, 2, 3, 4}, 5, 5},
		{[]int32{1, 2, 3, 4, 5, 1, 2, 3, 4}, 6, 0},
		{[]int32{1, 2, 3, 4, 5, 6, 1, 2, 3, 4}, 5, 0}, // not yet
		{[]int32{1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 5}, 6, 6},
	} {
		require.Equal(t, c.want, repeated(c.text, c.next), "%v then %d", c.text, c.next)
	}
}

func TestFreeSpeechDoesNotSayTheCommandAgain(t *testing.T) {
	text := []int32{1, 2, 3, 4, 5, 6, 9, 8, 2, 3, 4, 5}
	require.True(t, saidBefore(text, 6))
	require.False(t, saidBefore(text, 7))
	require.False(t, saidBefore(text[:4], 5), "too short to be a repetition")
	require.False(t, saidBefore([]int32{1, 2, 3, 4, 5, 1, 2, 3}, 4))
}

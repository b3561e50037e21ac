package live

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The mumbled ones are what the recogniser read where a synthetic voice said
// "toolbox" over talk and music, the others what it read of talk.
func TestAMumbledCallWordIsToldFromTalk(t *testing.T) {
	for _, text := range []string{"Toolbox, what's next", "Tilled box, flame not sure", "'Till the box, fly not sure that", "Tim old docks is 70 foot",
		"Tule Docs Say Again", "Cool box, 66 found in", "2-old box, 66-inch", "Timmelbach's 66 found in"} {
		require.True(t, beginsLike(text, "toolbox"), text)
	}
	for _, text := range []string{"", "So what's next", "Because the conference will begin", "as Velco Firehead spin it off the country", "that temperature, 70 degrees",
		"Now, both in", "You said", "Measured, block, depth, a third", "What size is the tensioner bolt", "I think it was raining", "Yes"} {
		require.False(t, beginsLike(text, "toolbox"), text)
	}
	for _, text := range []string{"2", "2-0-0-0", "Coolbox, straight that", "two on dark, what's left", "fuel box is 70 foot pounds", "", "' ' '"} {
		require.True(t, mayBegin(text, "toolbox"), text)
	}
	for _, text := range []string{"Somebody runs away", "I am about to", "Among the gunboats", "So, you got it", "Lowercase", "and then", "What could I"} {
		require.False(t, mayBegin(text, "toolbox"), text)
	}
	require.False(t, mayBegin("", ""), "there is no call word")
	require.True(t, mayBegin("Map all", "Mabel"))
	require.False(t, mayBegin("Tabel", "Mabel"))
	require.False(t, beginsLike("Joe", "Joe"), "too short to be told from anything")
	require.True(t, beginsLike("Computer, next", "computer"))
}

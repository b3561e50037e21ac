package config

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestTheExampleIsTheDefaults(t *testing.T) {
	c, err := Parse("example", []byte(Example))
	require.NoError(t, err)
	require.Equal(t, Default(), c)
}

func TestTheExampleHasEveryKey(t *testing.T) {
	var c Config
	for key := range c.fields() {
		require.Contains(t, Example, "\n"+key+":")
	}
}

func TestAnEmptyOrMissingFileGivesTheDefaults(t *testing.T) {
	for _, text := range []string{"", "\n", "# only a comment\n", "---\n"} {
		c, err := Parse("f", []byte(text))
		require.NoError(t, err, "%q", text)
		require.Equal(t, Default(), c)
	}
	c, err := Load(filepath.Join(t.TempDir(), "none.yaml"))
	require.NoError(t, err)
	require.Equal(t, Default(), c)
}

func TestValuesAreTaken(t *testing.T) {
	path := filepath.Join(t.TempDir(), "c.yaml")
	require.NoError(t, os.WriteFile(path, []byte("call word: Work Bench\naddress: key\nexpect: 2 s\ntones: {missed: off}\ntorque units: [lbf·in]\nspeed: 1.25\n"), 0o600))
	c, err := Load(path)
	require.NoError(t, err)
	require.Equal(t, "work bench", c.CallWord)
	require.Equal(t, "key", c.Address)
	require.Equal(t, 2*time.Second, c.Expect)
	require.False(t, c.ToneMissed)
	require.True(t, c.ToneHeard)
	require.Equal(t, []string{"lbf·in"}, c.TorqueUnits)
	require.Equal(t, 1.25, c.Speed)
}

func TestEveryMistakeIsNamedWithItsPlace(t *testing.T) {
	for text, want := range map[string]string{
		"microphone: a\nspeeed: 1":            `f:2:1: there is no key "speeed"; did you mean "speed"?`,
		"zzzzzzzzzzzz: 1":                     `f:1:1: there is no key "zzzzzzzzzzzz"; the keys are: address, board, call word`,
		"speed: fast":                         `f:1:8: speed: "fast"; want a number from 0.5 to 2`,
		"speed: NaN":                          `want a number from 0.5 to 2`,
		"volume: 9":                           `want a number from 0.1 to 4`,
		"address: radio":                      `f:1:10: address: "radio"; want call, open, key`,
		"settle: 5m":                          `want a time from 100ms to 3s`,
		"settle: 900ms":                       `must rise in this order`,
		"call word: x":                        `cannot be a call word`,
		"call word: 'tool*box'":               `cannot be a call word`,
		"tones: {hear: true}":                 `f:1:9: there is no key "hear"; did you mean "heard"?`,
		"tones: {heard: loud}":                `f:1:16: heard: "loud"; want true or false`,
		"tones: 3":                            `want {key: value, …}`,
		"torque units: [N·m, stone]":          `f:1:21: "stone"; want N·m`,
		"torque units: N·m":                   `want a list`,
		"threads: 1.5":                        `want a whole number`,
		"speed: 1\nspeed: 2":                  `f:2:1: "speed" stands on line 1 already`,
		"- a\n- b":                            `f:1:1: want lines of the form key: value`,
		"model: [a]":                          `f:1:8: model: want a single value`,
		"microphone: \"open":                  `f: `,
		"\xff\xfe":                            `not UTF-8`,
		"speed: slow\nvolume: loud\nxyz: 1\n": "f:2:9: volume",
	} {
		_, err := Parse("f", []byte(text))
		require.ErrorContains(t, err, want, "%q", text)
	}
}

func TestAHugeFileIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "c.yaml")
	require.NoError(t, os.WriteFile(path, make([]byte, 2<<20), 0o600))
	_, err := Load(path)
	require.ErrorIs(t, err, ErrTooLarge)
}

func TestAFileOfAGigabyteOrWithoutAnEndIsRefusedUnread(t *testing.T) {
	path := filepath.Join(t.TempDir(), "c.yaml")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	require.NoError(t, os.Truncate(path, 1<<30))
	for _, file := range []string{path, "/dev/zero"} {
		if _, err := os.Stat(file); err != nil {
			t.Logf("left out: %v", err)
			continue
		}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := Load(file)
		runtime.ReadMemStats(&after)
		require.ErrorIs(t, err, ErrTooLarge, file)
		require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(16<<20), "bytes taken for %s", file)
	}
}

func TestAliasesThatMultiplyAreNotExpanded(t *testing.T) {
	bomb := "torque units: &a [x, x, x, x, x, x, x, x, x, x]\n"
	for i := range 9 {
		bomb += fmt.Sprintf("k%d: &%c [*%c, *%c, *%c, *%c, *%c, *%c, *%c, *%c, *%c]\n", i, 'b'+i, 'a'+i, 'a'+i, 'a'+i, 'a'+i, 'a'+i, 'a'+i, 'a'+i, 'a'+i, 'a'+i)
	}
	_, err := Parse("f", []byte(bomb))
	require.ErrorContains(t, err, "f:2:1: there is no key")
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(Example))
	f.Add([]byte("tones: {heard: *a}"))
	f.Add([]byte("a: &a [*a]"))
	f.Fuzz(func(t *testing.T, b []byte) {
		c, err := Parse("f", b)
		if err == nil && (c.Speed < 0.5 || c.Expect < c.Settle || c.CallWord == "") {
			t.Fatalf("accepted %+v", c)
		}
	})
}

// Package selftest looks at what listening needs on this computer, part by
// part, measures what can be measured and says in words what to change.
//
//	report := selftest.Run(ctx, selftest.Options{…, Print: selftest.Printer(os.Stdout)})
//	if report.Failed() > 0 { … }
//
// It opens nothing by itself: microphone, loudspeaker, ear and voice come
// through [Options], so that a test can put in broken ones.
package selftest

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"putback/audio"
	"putback/cmd/putback/internal/config"
	"putback/speech"
)

// Options is what is tested.
type Options struct {
	Settings config.Config
	// Microphones and Loudspeakers list the devices.
	Microphones, Loudspeakers func() ([]audio.Device, error)
	// OpenMicrophone and OpenLoudspeaker open what the settings name.
	OpenMicrophone  func() (audio.Source, error)
	OpenLoudspeaker func() (Player, error)
	VAD             audio.VAD
	// Say speaks a command as a person would and gives it at [audio.Rate].
	Say func(ctx context.Context, text string) (audio.Samples, error)
	// Hear recognises a command and gives its text; OpenEar loads the model.
	OpenEar func() (hear func(ctx context.Context, sound audio.Samples) (string, error), err error)
	// OpenVoice loads the voice and gives its name.
	OpenVoice func() (voice Voice, name string, err error)
	// Listen is how long the room is listened to; default 4 s.
	Listen time.Duration
	// Print shows a line as soon as it is known. May be nil.
	Print func(Line)
}

// Player is a loudspeaker that plays sound at [audio.Rate].
type Player interface {
	Play(ctx context.Context, s audio.Samples) error
	Close() error
}

// Voice speaks replies; *speech.Voice does.
type Voice interface {
	Stream(ctx context.Context, text string, o speech.SayOptions, out func(speech.Clip) error) error
}

// Line is what was found about one part.
type Line struct {
	Part  string
	Found string
	// Bad: listening cannot work like this.
	Bad bool
	// Change says what to do, in order of use; empty when all is well.
	Change []string
}

// Report is all lines in order.
type Report []Line

// Failed counts the parts without which listening cannot work.
func (r Report) Failed() (n int) {
	for _, l := range r {
		if l.Bad {
			n++
		}
	}
	return n
}

// Printer writes lines for people.
func Printer(w io.Writer) func(Line) {
	return func(l Line) {
		fmt.Fprintf(w, "%-12s %s\n", l.Part, l.Found)
		for _, c := range l.Change {
			fmt.Fprintf(w, "%-12s → %s\n", "", c)
		}
	}
}

// Run tests every part; one that fails does not keep the others from being
// tested.
func Run(ctx context.Context, o Options) Report {
	if o.Listen == 0 {
		o.Listen = 4 * time.Second
	}
	t := &test{Options: o}
	t.devices("microphone", o.Microphones, o.Settings.Microphone, "plug one in, or play a recording with `putback listen --wav FILE`", true)
	t.devices("loudspeaker", o.Loudspeakers, o.Settings.Loudspeaker, "plug one in; until then replies are printed only", false)
	t.room(ctx)
	t.models(ctx)
	return t.report
}

type test struct {
	Options
	report Report
}

func (t *test) add(l Line) {
	t.report = append(t.report, l)
	if t.Print != nil {
		t.Print(l)
	}
}

// devices looks for the device that the settings name.
func (t *test) devices(part string, list func() ([]audio.Device, error), want, missing string, needed bool) {
	all, err := list()
	if err != nil {
		t.add(Line{part, err.Error(), needed, []string{missing}})
		return
	}
	if len(all) == 0 {
		t.add(Line{part, "none found", needed, []string{missing}})
		return
	}
	var names []string
	chosen := ""
	for _, d := range all {
		names = append(names, fmt.Sprintf("%q", d.Name))
		if want == "" && d.Default || want != "" && strings.Contains(strings.ToLower(d.Name), strings.ToLower(want)) {
			chosen = d.Name
		}
	}
	switch {
	case chosen != "":
		t.add(Line{Part: part, Found: fmt.Sprintf("%q, of %d", chosen, len(all))})
	case want != "":
		t.add(Line{part, fmt.Sprintf("%q is not there", want), needed, []string{
			fmt.Sprintf("plug it in, or write one of these behind %q in the settings: %s", part+":", strings.Join(names, ", "))}})
	default:
		t.add(Line{Part: part, Found: "the system's default, of " + strings.Join(names, ", ")})
	}
}

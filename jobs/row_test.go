package jobs

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// deed is a step told as what it asks for.
func deed(key string) intent.Done { return intent.Done{Step: key} }

func TestAStepIsDoneWhenWhatItAsksForIsToldSo(t *testing.T) {
	sheet := refitSheet()
	sheet.Strip = append([]SheetStep{
		{Name: "belt marks", Do: "mark the belt's running direction and photograph it"},
		{Name: "sea cock shut", Do: "shut the sea cock and hang the tag on the key"},
	}, sheet.Strip...)
	sheet.Refit = append(sheet.Refit, SheetStep{Name: "sea cock open", Do: "open the sea cock"})
	s := newSession(t, sheet)
	s.expect(deed("mark belt's running direction"), "All of it: mark the belt's running direction and photograph it?")
	s.expect(intent.No{}, "Belt marks stays to be done.")
	s.expect(deed("photograph it"), "Belt marks done. Next: shut the sea cock and hang the tag on the key.")
	s.expect(deed("shut sea cock"), "Sea cock shut done. Next: take the pump off. It is heavy; hold it. Four pump bolts.")
	s.expect(deed("shut sea cock"), "Sea cock shut is done already.")
	s.expect(deed("open sea cock"), "Sea cock open belongs to the refit.")
}

func TestADeedOfTwoStepsIsAskedAbout(t *testing.T) {
	sheet := refitSheet()
	sheet.Strip = []SheetStep{{Name: "face one", Do: "clean the face"}, {Name: "face two", Do: "clean the face"}, {Name: "face three", Do: "clean the face"}}
	s := newSession(t, sheet)
	s.expect(deed("clean face"), "Face one, face two or face three?")
	s.expect(intent.Choice{Text: "face two"}, "Face two done. Next: clean the face.")
	s.expect(deed("clean face"), "Face one done. Next: clean the face.") // the one in hand
}

func TestSeveralThingsOfOneBreathAreOneEntry(t *testing.T) {
	s := newSession(t, refitSheet())
	before := s.b.View(s.now)
	s.expect(intent.Row{Of: []intent.Intent{
		intent.Removed{Items: []intent.Fastener{{Count: 4}}, Where: "pump bolts"}, intent.Note{Text: "the back one needs a flex head"},
	}}, "Four pump bolts off. That's all of them. Noted: the back one needs a flex head.")
	s.do(intent.Strike{})
	require.Equal(t, before.Groups, s.b.View(s.now).Groups, "one strike takes back all of it")
	require.Empty(t, s.b.View(s.now).Notes)
}

func TestWhatIsAskedAboutDoesNotLoseTheRest(t *testing.T) {
	for _, answer := range []struct {
		in   intent.Intent
		want string
	}{
		{intent.Choice{Text: "pump"}, "Two pump bolts off. Two still to come. Noted: they were tight."},
		{intent.No{}, "Nothing written down. Noted: they were tight."},
	} {
		s := newSession(t, refitSheet())
		s.expect(intent.Row{Of: []intent.Intent{
			intent.Removed{Items: []intent.Fastener{{Count: 2, Kind: "bolt"}}, Where: "bolts"}, intent.Note{Text: "they were tight"},
		}}, "Cover or pump?")
		s.expect(answer.in, answer.want)
	}
}

func TestOnlyTheLastNextIsSaid(t *testing.T) {
	sheet := refitSheet()
	sheet.Strip = append([]SheetStep{{Name: "power off", Do: "battery negative off"}, {Name: "sea cock shut", Do: "shut the sea cock"}}, sheet.Strip...)
	s := newSession(t, sheet)
	s.expect(intent.Row{Of: []intent.Intent{deed("off battery negative"), deed("shut sea cock")}},
		"Power off done. Sea cock shut done. Next: take the pump off. It is heavy; hold it. Four pump bolts.")
}

func TestAQuestionIsAskedOfAnotherName(t *testing.T) {
	s := newSession(t, refitSheet())
	s.expect(intent.AskTorque{Name: "pump bolts"}, "Pump bolts: 22 N·m, from your sheet.")
	s.expect(intent.Choice{Text: "the cover bolts"}, "Cover bolts: 10 N·m, from your sheet.")
	s.expect(intent.Choice{Text: "stretch bolt"}, "Stretch bolt: 40 N·m, from your sheet.")
	s.expect(intent.Choice{Text: "the moon"}, "I had asked nothing.")
	s.wait(QuestionTime + 1)
	s.expect(intent.Choice{Text: "the cover bolts"}, "I had asked nothing.")
}

func TestWhatAboutGoesOnWithAQuestion(t *testing.T) {
	s := newSession(t, refitSheet())
	s.heard("what about the pump bolts", intent.Suspect{Name: "pump bolts"}, "Suspect: pump bolts.")
	s.do(intent.Strike{})
	s.do(intent.AskTorque{Name: "pump bolts"})
	s.heard("what about the cover bolts", intent.Suspect{Name: "cover bolts"}, "Cover bolts: 10 N·m, from your sheet.")
}

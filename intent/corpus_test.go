package intent

import (
	"bufio"
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"putback/jobs/measure"
)

// utterance is one line of the corpus.
type utterance struct {
	line   int
	text   string
	intent string // "" for talk that is no command
	slots  string
}

func corpus(t testing.TB) []utterance {
	t.Helper()
	f, err := os.Open("testdata/corpus.txt")
	require.NoError(t, err)
	defer f.Close()
	var list []utterance
	section := ""
	scan := bufio.NewScanner(f)
	for n := 1; scan.Scan(); n++ {
		line := strings.TrimSpace(scan.Text())
		switch {
		case line == "" || line[0] == '#':
		case line[0] == '[':
			section = strings.Trim(line, "[]")
		default:
			text, slots, _ := strings.Cut(line, "=>")
			u := utterance{n, strings.TrimSpace(text), section, strings.TrimSpace(slots)}
			if section == "nothing" {
				u.intent = ""
			}
			list = append(list, u)
		}
	}
	require.NoError(t, scan.Err())
	return list
}

// describe writes an intent the way the corpus does.
func describe(in Intent) (name, slots string) {
	v := reflect.ValueOf(in)
	var parts []string
	for i := range v.NumField() {
		field, value := v.Type().Field(i).Name, v.Field(i)
		if value.IsZero() {
			continue
		}
		r, n := utf8.DecodeRuneInString(field)
		label := string(unicode.ToLower(r)) + field[n:]
		switch x := value.Interface().(type) {
		case bool:
			parts = append(parts, label)
			continue
		case []Fastener:
			var each []string
			for _, f := range x {
				each = append(each, describeFastener(f))
			}
			parts = append(parts, label+"="+strings.Join(each, ", "))
		case Size:
			parts = append(parts, label+"="+x.Said)
		case *measure.Quantity:
			parts = append(parts, label+"="+describeQuantity(*x))
		case measure.Quantity:
			parts = append(parts, label+"="+describeQuantity(x))
		case measure.Unit:
			parts = append(parts, label+"="+x.Symbol)
		case time.Duration:
			parts = append(parts, label+"="+x.String())
		default:
			parts = append(parts, fmt.Sprintf("%s=%v", label, x))
		}
	}
	if u, ok := in.(Unclear); ok {
		parts = []string{"question=" + u.Question}
	}
	return v.Type().Name(), strings.Join(parts, "; ")
}

func describeQuantity(q measure.Quantity) string {
	if q.Unit.Symbol == "" {
		return fmt.Sprint(q.Amount)
	}
	return q.String()
}

func describeFastener(f Fastener) string {
	var words []string
	if f.Count > 0 {
		words = append(words, fmt.Sprint(f.Count))
	}
	if f.All {
		words = append(words, "all")
	}
	if f.LeftHand {
		words = append(words, "left-hand")
	}
	if f.Length != "" {
		words = append(words, f.Length)
	}
	if f.Size != nil {
		words = append(words, f.Size.Said)
	}
	if f.Kind != "" {
		words = append(words, f.Kind)
	}
	if f.At != "" {
		words = append(words, "@"+f.At)
	}
	return strings.Join(words, " ")
}

func TestEverySentenceOfTheCorpusIsUnderstoodAsWhatItMeans(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	right, wrong, count := 0, 0, map[string]int{}
	for _, u := range corpus(t) {
		if u.intent == "" {
			continue
		}
		count[u.intent]++
		got := Understand(a, u.text)
		name, slots := "nothing", ""
		if len(got) > 0 {
			name, slots = describe(got[0])
		}
		if name != u.intent || slots != u.slots {
			wrong++
			t.Errorf("corpus.txt:%d: %q\n  wanted %s %s\n  got    %s %s", u.line, u.text, u.intent, u.slots, name, slots)
			continue
		}
		right++
	}
	t.Logf("%d of %d sentences right", right, right+wrong)
	require.GreaterOrEqual(t, right+wrong, 600)
	for _, name := range intentNames {
		require.GreaterOrEqual(t, count[name], 6, "ways to say %s in the corpus", name)
	}
}

func TestTalkThatIsNoCommandIsNotUnderstood(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	total := 0
	for _, u := range corpus(t) {
		if u.intent != "" {
			continue
		}
		total++
		for _, in := range Understand(a, u.text) {
			name, slots := describe(in)
			t.Errorf("corpus.txt:%d: %q is talk, understood as %s %s", u.line, u.text, name, slots)
			break
		}
	}
	require.GreaterOrEqual(t, total, 100)
}

// intentNames are all members of the closed set, in the order of intent.go.
var intentNames = strings.Fields(`Call Next Back Done BackOne Pause Resume WhereWasI SayAgain Slower Stop Quiet Listen Strike Help Yes No Choice
	Removed Loosened Refitted Torqued Discarded Condition Stowed Tip Excuse
	SetSpec SetLimit SetFill SetOrder SetStages SetTime SetPattern SetTool SetCaution SetUses SetCheck AskTorque AskSize AskCount AskPlace AskHeld AskPart AskRenew AskFluid AskLimit AskOut AskLeft LeftOver AskDoubts AskTimers AskDetail AskNotes AskWhy AskLast
	Convert AskJudge AskGuide AskStrength AskPreload AskDesignation AskWrench AskLocker AskThread AskHead AskSetting AskPattern AskEngage
	GoStep SkipStep InsertStep Constrain Stage Tighten Wrench PartAside PartHave PartFitted PartNeeded Drained Filled Sealed Timer TimerOff
	Note Flag Settle Mark Measure Suspect Evidence RuleOut Culprit AskFaults StartCheck HandOver Unclear`)

func TestTheCorpusKnowsEveryIntent(t *testing.T) {
	src, err := os.ReadFile("intent.go")
	require.NoError(t, err)
	for _, line := range strings.Split(string(src), "\n") {
		if name, ok := strings.CutPrefix(line, "func ("); ok && strings.Contains(line, ") intent()") {
			name, _, _ = strings.Cut(name, ")")
			require.Contains(t, intentNames, name)
		}
	}
}

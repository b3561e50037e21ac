package board

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/jobs"
)

func reportText(t testing.TB, v jobs.View, h []jobs.Event) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Report(&b, v, h, ReportOptions{Now: noon, Program: "putback test"}))
	return b.String()
}

func told(seq, turn int64, kind, data, heard string) jobs.Event {
	return jobs.Event{Seq: seq, Turn: turn, At: noon.Add(time.Duration(seq) * time.Minute), Kind: kind, Data: json.RawMessage(data), Heard: heard}
}

func TestReportTellsWhatIsOpen(t *testing.T) {
	html := reportText(t, frontCover(), nil)
	for _, want := range []string{
		"front cover short: 8 of 12 out", "front cover short: 2 in but not tightened to 10 N·m",
		"doubt: locker on the tensioner bolt or not", "shaft seal: 0 of 1 fitted", "shaft play: not measured",
		"impeller cover screws: 5 loose", "step begun, not done: fit the pump body",
		"hot coolant: let it cool down first", "blades trail, seen in the photo", "0.22 mm", "one clip rusted through",
		"said by you, from your manual p. 42", "3 9 12 6 2 8 4 10 1 7 5 11",
	} {
		require.Contains(t, html, want)
	}
	require.NotContains(t, html, "Nothing is left open")
}

func TestReportOfAFinishedJobSaysSo(t *testing.T) {
	v := jobs.View{Job: "Front cover", Groups: []jobs.GroupView{{Name: "front cover short", Count: 4, Removed: 4, Refitted: 4, Torqued: 4, Torque: "10 N·m"}}}
	html := reportText(t, v, []jobs.Event{told(1, 1, jobs.KindRemoved, `{"group":"front cover short","n":4}`, "four off")})
	require.Contains(t, html, "Nothing is left open")
	require.NotContains(t, html, "Still open")
}

func TestReportStrikesOutWhatWasTakenBackAndQuotesWhoSaidTheFigure(t *testing.T) {
	h := []jobs.Event{
		told(1, 1, jobs.KindSpec, `{"group":"pump bolts","torque":{"amount":22,"unit":{"Symbol":"N·m"}}}`, "the pump bolts go to twenty-two newton metres"),
		told(2, 2, jobs.KindRemoved, `{"group":"pump bolts","n":9}`, "nine pump bolts off"),
		told(3, 3, jobs.KindStrike, `{"turn":2}`, "strike that"),
	}
	html := reportText(t, frontCover(), h)
	require.Regexp(t, `<s>[^<]*9 off[^<]*</s> <span class="tagged">struck`, html)
	said := regexp.MustCompile(`(?s)<ul class="said">.*?</ul>`).FindString(html)
	require.Contains(t, said, "the pump bolts go to twenty-two newton metres")
	require.NotContains(t, said, "nine pump bolts off")
}

func TestReportShowsACorrectionAndWhatItReplacedUntilItIsTakenBack(t *testing.T) {
	h := []jobs.Event{
		told(1, 1, jobs.KindSpec, `{"group":"pump bolts","torque":{"amount":22,"unit":"N·m"}}`, "the pump bolts go to twenty-two newton metres"),
		told(2, 2, jobs.KindNote, `{"text":"hose cracked"}`, "note hose cracked"),
		told(3, 3, jobs.KindAmend, `{"turn":1,"events":[{"kind":"spec","data":{"group":"pump bolts","torque":{"amount":24,"unit":"N·m"}}}]}`, "the pump bolts go to twenty-four newton metres"),
	}
	list := func(html string) string { return regexp.MustCompile(`(?s)<ul class="said">.*?</ul>`).FindString(html) }
	html := reportText(t, frontCover(), h)
	require.Regexp(t, `<s>[^<]*22 N·m[^<]*</s> <span class="tagged">struck`, html)
	require.Contains(t, html, "corrected: entry 1: ")
	require.Contains(t, list(html), "the pump bolts go to twenty-four newton metres", "who said the figure that counts")

	html = reportText(t, frontCover(), append(h, told(4, 4, jobs.KindStrike, `{"turn":3}`, "strike that")))
	require.NotRegexp(t, `<s>[^<]*22 N·m[^<]*</s>`, html)
	require.Regexp(t, `<s>corrected: entry 1: [^<]*</s> <span class="tagged">struck`, html)
}

// A report that is one file asks nothing of the outside: no address to load from but data.
func TestReportIsOneFile(t *testing.T) {
	html := reportText(t, frontCover(), sampleHistory())
	for _, m := range regexp.MustCompile(`(?i)(?:src|href|action|url\()\s*=?\s*["'(]?([a-z]+:|/)`).FindAllStringSubmatch(html, -1) {
		require.Equal(t, "data:", strings.ToLower(m[1]), m[0])
	}
	require.NotContains(t, html, "<script")
	require.NotContains(t, html, "ZgotmplZ")
}

func TestPDFPrintsTheReport(t *testing.T) {
	if testing.Short() {
		t.Skip("printing starts a browser: not with -short")
	}
	var printed bytes.Buffer
	err := ReportPDF(t.Context(), &printed, frontCover(), sampleHistory(), ReportOptions{Now: noon})
	if errors.Is(err, ErrNoBrowser) {
		t.Skip("no chromium on this machine: install Debian's package chromium to test printing")
	}
	require.NoError(t, err)
	pdf := printed.Bytes()
	require.True(t, bytes.HasPrefix(pdf, []byte("%PDF-")))
	if dir := os.Getenv("PUTBACK_SHOTS"); dir != "" {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "report.pdf"), pdf, 0o644))
	}
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("no pdftotext on this machine: install Debian's package poppler-utils to read the PDF back")
	}
	cmd := exec.Command(tool, "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	text, err := cmd.Output()
	require.NoError(t, err)
	for _, want := range []string{"Front cover and raw-water pump", "25 ± 3 N·m", "Still open", "Timeline"} {
		require.Contains(t, string(text), want)
	}
}

func TestPDFEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := PDF(ctx, []byte("<p>never printed"))
	if errors.Is(err, ErrNoBrowser) {
		t.Skip("no chromium on this machine: install Debian's package chromium to test printing")
	}
	require.ErrorIs(t, err, context.Canceled)
}

func TestPDFWithoutABrowserSaysHowToGoOn(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	_, err := PDF(t.Context(), nil)
	require.ErrorIs(t, err, ErrNoBrowser)
	require.ErrorContains(t, err, "open the HTML report in any browser")
}

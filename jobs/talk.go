package jobs

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"

	"putback/intent"
	"putback/jobs/measure"
)

// maxWords bounds a reply: what takes longer to hear is not listened to with a
// spanner in the hand. At 2.5 words a second 38 words are 15 seconds.
const maxWords = 38

var small = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
	"thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty"}

var tens = []string{"", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}

// spell says a count: in words below a hundred, in figures from there.
func spell(n int) string {
	switch {
	case n >= 0 && n <= 20:
		return small[n]
	case n > 20 && n < 100 && n%10 == 0:
		return tens[n/10]
	case n > 20 && n < 100:
		return tens[n/10] + "-" + small[n%10]
	}
	return strconv.Itoa(n)
}

// say sets the reply; the numbers that were put in decide about Digits.
func (d *draft) say(kind ReplyKind, format string, args ...any) {
	text := format
	if len(args) > 0 {
		text = fmt.Sprintf(format, args...)
	}
	d.reply.Kind, d.reply.Text = kind, text
	d.reply.Choices = nil
}

// tell sets the reply to a text without figures of its own.
func (d *draft) tell(kind ReplyKind, text string) { d.say(kind, "%s", text) }

// more adds a sentence.
func (d *draft) more(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if text == "" {
		return
	}
	if d.reply.Text != "" {
		d.reply.Text += " "
	}
	d.reply.Text += text
}

// count says n of something and remembers n for the check of sound-alikes.
func (d *draft) count(n int) string {
	d.numbers = append(d.numbers, float64(n))
	return spell(n)
}

// figure says a quantity and remembers its number.
func (d *draft) figure(q measure.Quantity) string {
	d.numbers = append(d.numbers, q.Amount, q.Tolerance)
	return q.String()
}

// finish completes the reply: a capital, an end, digits for what sounds alike.
func (d *draft) finish() Reply {
	r := &d.reply
	r.Text = sentence(r.Text)
	for _, n := range d.numbers {
		r.Digits = r.Digits || measure.Confusable(n)
	}
	return *r
}

func sentence(text string) string {
	text = strings.TrimSpace(text)
	if text == "" {
		return ""
	}
	runes := []rune(text)
	// "M8" and "15W-40" stay; a word gets its capital.
	runes[0] = unicode.ToUpper(runes[0])
	text = string(runes)
	if !strings.ContainsAny(text[len(text)-1:], ".?!") {
		text += "."
	}
	return text
}

// words counts the words of a reply as they are spoken, a unit as one.
func words(text string) int { return len(strings.Fields(text)) }

func capital(text string) string {
	if text == "" {
		return ""
	}
	r := []rune(text)
	r[0] = unicode.ToUpper(r[0])
	return string(r)
}

func orList(list []string) string  { return joinList(list, "or") }
func andList(list []string) string { return joinList(list, "and") }

func joinList(list []string, last string) string {
	switch len(list) {
	case 0:
		return ""
	case 1:
		return list[0]
	}
	return strings.Join(list[:len(list)-1], ", ") + " " + last + " " + list[len(list)-1]
}

// fewOf names at most n and counts the rest.
func fewOf(list []string, n int) string {
	if len(list) <= n {
		return andList(list)
	}
	return strings.Join(list[:n], ", ") + fmt.Sprintf(" and %s more", spell(len(list)-n))
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// the puts an article before a place unless it has one or is a number of its own.
func the(name string) string {
	low := strings.ToLower(name)
	for _, p := range []string{"the ", "cup ", "bag ", "tray ", "my ", "a ", "number "} {
		if strings.HasPrefix(low, p) {
			return name
		}
	}
	if name == "" {
		return ""
	}
	return "the " + name
}

// lying says where something lies: "in cup four", "on the bench".
func lying(stow string) string {
	for _, w := range keyWords(stow) {
		switch w {
		case "bench", "shelf", "table", "floor", "sill", "magnet", "workbench", "deck", "rack":
			return "on " + the(stow)
		}
	}
	return "in " + the(stow)
}

// bare is a name without its article.
func bare(name string) string { return strings.TrimPrefix(strings.TrimSpace(name), "the ") }

// item says a batch the way it was said: "four tens", "two long ones", "six bolts".
func (d *draft) item(n int, f *intent.Fastener, g *group) string {
	num := d.count(n)
	what := ""
	switch {
	case f != nil && f.Size != nil && f.Size.Said != "":
		what = f.Size.Said
		if strings.ContainsAny(what, "0123456789") {
			what += " " + kindWord(g.Kind, n)
		} else if n != 1 && strings.HasSuffix(what, "half") {
			what = strings.TrimSuffix(what, "f") + "ves"
		} else if n != 1 && !strings.HasSuffix(what, "s") {
			what += "s"
		} else if n == 1 && strings.HasSuffix(what, "s") && sizeWord(strings.TrimSuffix(what, "s")) {
			what = strings.TrimSuffix(what, "s")
		}
	case f != nil && f.Length != "":
		what = f.Length + " " + plural(n, "one", "ones")
	default:
		what = kindWord(g.Kind, n)
	}
	if f != nil && f.LeftHand {
		what = "left-hand " + what
	}
	return num + " " + what
}

var bareSize = regexp.MustCompile(`^(five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|seventeen|eighteen|nineteen|twenty|twenty-(one|two|four))$`)

func sizeWord(s string) bool { return bareSize.MatchString(s) }

func kindWord(kind string, n int) string {
	if kind == "" {
		kind = "bolt"
	}
	if n == 1 {
		return kind
	}
	if strings.HasSuffix(kind, "s") || strings.HasSuffix(kind, "sh") {
		return kind + "es"
	}
	return kind + "s"
}

// ago says a past time the way one speaks of it.
func ago(at, now time.Time) string {
	days := int(now.Sub(at).Hours() / 24)
	if y1, m1, d1 := at.Date(); true {
		y2, m2, d2 := now.In(at.Location()).Date()
		days = int(time.Date(y2, m2, d2, 0, 0, 0, 0, time.UTC).Sub(time.Date(y1, m1, d1, 0, 0, 0, 0, time.UTC)).Hours() / 24)
	}
	switch {
	case now.Before(at):
		return "just now"
	case days == 0 && now.Sub(at) < 2*time.Minute:
		return "just now"
	case days == 0 && now.Sub(at) < time.Hour:
		return fmt.Sprintf("%s minutes ago", spell(int(now.Sub(at).Minutes())))
	case days == 0:
		return "today at " + at.Format("15:04")
	case days == 1:
		return "yesterday"
	case days < 7:
		return "on " + at.Weekday().String()
	case days < 14:
		return "a week ago"
	case days < 60:
		return spell(days/7) + " weeks ago"
	}
	return "on " + at.Format("2 January 2006")
}

// lasts says a duration.
func lasts(t time.Duration) string {
	t = t.Round(time.Second)
	switch {
	case t < time.Minute:
		return fmt.Sprintf("%d %s", int(t.Seconds()), plural(int(t.Seconds()), "second", "seconds"))
	case t < time.Hour:
		m := int(t.Round(time.Minute).Minutes())
		return fmt.Sprintf("%d %s", m, plural(m, "minute", "minutes"))
	}
	t = t.Round(time.Minute)
	h, m := int(t.Hours()), int(t.Minutes())%60
	text := fmt.Sprintf("%d %s", h, plural(h, "hour", "hours"))
	if m > 0 {
		text += fmt.Sprintf(" %d %s", m, plural(m, "minute", "minutes"))
	}
	return text
}

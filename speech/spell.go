package speech

import (
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// SpellOptions says how numbers sound.
type SpellOptions struct {
	// Digits follows every number of two or more figures by its digits.
	Digits bool
	// ReadBack follows only the numbers that are easily misheard by their
	// digits: those in thirteen to nineteen and thirty to ninety.
	ReadBack bool
}

// Spell turns print into words for the ear: numbers, units, abbreviations,
// thread designations, times and signs.
//
//	Spell("25 ± 3 N·m", SpellOptions{})  = "twenty-five, plus or minus three, newton metres"
//	Spell("M8x1.25", SpellOptions{})     = "M eight by one point two five"
//	Spell("13 mm", SpellOptions{ReadBack: true}) = "thirteen: one three, millimetres"
//
// The result has no figures in it, and spelling it again changes nothing as
// long as no digits are asked for. Nought is "zero", which carries better in
// noise, and a number keeps the zeros it was printed with, because they say how
// exact it is.
func Spell(text string, o SpellOptions) string {
	s := speller{text: tidy(text), opts: o}
	for s.at < len(s.text) {
		s.one()
	}
	return s.joined()
}

// tidy brings the look-alikes of one sign to one form.
func tidy(text string) string {
	return strings.NewReplacer("\u00a0", " ", "\u202f", " ", "\u2009", " ", "−", "-", "⋅", "·", "∙", "·", "•", "·",
		"’", "'", "‘", "'", "“", "\"", "”", "\"", "‐", "-", "‑", "-", "º", "°", "\t", " ", "\r", "").Replace(text)
}

// speller walks over a text and gathers its words. Each element of out is a
// word or a mark; a mark is glued to what stands before it.
type speller struct {
	text   string
	at     int
	opts   SpellOptions
	out    []string
	quotes int // straight double quotes seen, to tell an inch from a quotation's end
}

func (s *speller) say(words string) {
	if words != "" {
		s.out = append(s.out, strings.Fields(words)...)
	}
}

func (s *speller) mark(m string) { s.out = append(s.out, m) }

var (
	isoDate    = regexp.MustCompile(`^(\d{4})-(\d{2})-(\d{2})`)
	clock      = regexp.MustCompile(`^(\d{1,2}):(\d{2})(?::(\d{2}))?`)
	metric     = regexp.MustCompile(`^M(\d{1,3}(?:\.\d+)?)((?:\s?[x×]\s?\d+(?:\.\d+)?){0,2})`)
	times      = regexp.MustCompile(`\d+(?:\.\d+)?`)
	inchThread = regexp.MustCompile(`^(?:(\d+)[ -])?(\d+)/(\d+)-(\d{1,2})`)
	gauge      = regexp.MustCompile(`^#(\d{1,2})-(\d{1,2})`)
	stainless  = regexp.MustCompile(`^A([1-5])-(\d{2,3})`)
	label      = regexp.MustCompile(`^([A-Z]{1,4})[- ]?(\d+(?:\.\d+)?)`)
	amount     = regexp.MustCompile(`^(?:(\d+)[ -](\d+)/(\d+)|(\d+)/(\d+)|((?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)*|\.\d+))`)
	ordinalRE  = regexp.MustCompile(`^(\d+)(st|nd|rd|th)`)
	pluralRE   = regexp.MustCompile(`^(\d+)'?s`)
	rangeRE    = regexp.MustCompile(`^(?:\s?\.\.\.?\s?|\s?–\s?|-|\s?—\s?)(-?[\d.])`)
	timesRE    = regexp.MustCompile(`^\s?[x×]\s?(\d|M\d)`)
	wordRE     = regexp.MustCompile(`^\pL[\pL\pM]*(?:['\-/.]\pL[\pL\pM]*)*`)
)

// one spells what stands at s.at and moves on.
func (s *speller) one() {
	rest := s.text[s.at:]
	if s.atWordStart() {
		for _, try := range []func(string) int{s.date, s.clock, s.metric, s.gauge, s.inchThread, s.stainless, s.ordinal, s.plural,
			s.quantity, s.bareUnit, s.label, s.word} {
			if n := try(rest); n > 0 {
				s.at += n
				return
			}
		}
	}
	r, n := utf8.DecodeRuneInString(rest)
	s.at += n
	s.sign(r, rest[n:])
}

// atWordStart reports whether no letter and no figure stands right before.
func (s *speller) atWordStart() bool {
	r, _ := utf8.DecodeLastRuneInString(s.text[:s.at])
	if s.at == 0 {
		return true
	}
	here, _ := utf8.DecodeRuneInString(s.text[s.at:])
	if unicode.IsDigit(here) != unicode.IsDigit(r) {
		return true // "cup4", "12pt"
	}
	return !unicode.IsLetter(r) && !unicode.IsDigit(r)
}

// endsWord reports whether a word that is done may be followed by rest.
func endsWord(done, rest string) bool {
	last, _ := utf8.DecodeLastRuneInString(done)
	next, _ := utf8.DecodeRuneInString(rest)
	if rest == "" || (!unicode.IsLetter(last) && !unicode.IsDigit(last)) {
		return true
	}
	return !unicode.IsLetter(next) && !unicode.IsDigit(next)
}

func (s *speller) date(rest string) int {
	m := isoDate.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) {
		return 0
	}
	d, err := time.Parse(time.DateOnly, m[0])
	if err != nil {
		return 0
	}
	s.say("the " + ordinal(uint64(d.Day())) + " of " + d.Month().String() + " " + year(d.Year()))
	return len(m[0])
}

// year says "twenty twenty-six", "two thousand and five", "nineteen oh five".
func year(y int) string {
	high, low := uint64(y/100), uint64(y%100)
	switch {
	case high == 0 || (high%10 == 0 && low < 10):
		return cardinal(uint64(y))
	case low == 0:
		return cardinal(high) + " hundred"
	case low < 10:
		return cardinal(high) + " oh " + cardinal(low)
	}
	return cardinal(high) + " " + cardinal(low)
}

func (s *speller) clock(rest string) int {
	m := clock.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) {
		return 0
	}
	h, _ := strconv.ParseUint(m[1], 10, 8)
	mi, _ := strconv.ParseUint(m[2], 10, 8)
	if h > 24 || mi > 59 {
		return 0
	}
	words := cardinal(h)
	switch {
	case mi == 0 && m[3] == "" && h > 0 && h <= 12:
		words += " o'clock"
	case mi == 0 && m[3] == "":
		words += " hundred"
	case mi < 10:
		words += " oh " + cardinal(mi)
	default:
		words += " " + cardinal(mi)
	}
	if m[3] != "" {
		sec, _ := strconv.ParseUint(m[3], 10, 8)
		unit := " seconds"
		if sec == 1 {
			unit = " second"
		}
		words += " and " + cardinal(sec) + unit
	}
	s.say(words)
	return len(m[0])
}

// metric says "M8x1.25" and "M10x1.25x40".
func (s *speller) metric(rest string) int {
	m := metric.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) {
		return 0
	}
	s.say("M")
	s.number(m[1])
	for _, n := range times.FindAllString(m[2], -1) {
		s.say("by")
		s.number(n)
	}
	return len(m[0])
}

// gauge says "#10-32".
func (s *speller) gauge(rest string) int {
	m := gauge.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) {
		return 0
	}
	s.say("number " + decimal(m[1]))
	s.number(m[2])
	return len(m[0])
}

// inchThread says "3/8-16" as "three eighths sixteen", and "1/4-20" as the
// trade does, "quarter twenty".
func (s *speller) inchThread(rest string) int {
	m := inchThread.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) || strings.HasPrefix(rest[len(m[0]):], "/") || strings.HasPrefix(rest[len(m[0]):], "-") {
		return 0
	}
	over, _ := strconv.Atoi(m[2])
	under, _ := strconv.Atoi(m[3])
	f := fraction(over, under)
	if f == "" {
		return 0
	}
	if m[1] != "" {
		s.say(decimal(m[1]) + " and " + f)
	} else {
		if under <= 4 {
			f = strings.TrimPrefix(f, "one ")
		}
		s.say(f)
	}
	s.number(m[4])
	return len(m[0])
}

// stainless says the steel "A2-70".
func (s *speller) stainless(rest string) int {
	m := stainless.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) {
		return 0
	}
	s.say("A " + decimal(m[1]))
	s.number(m[2])
	return len(m[0])
}

func (s *speller) ordinal(rest string) int {
	m := ordinalRE.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) {
		return 0
	}
	n, err := strconv.ParseUint(m[1], 10, 64)
	if err != nil {
		return 0
	}
	s.say(ordinal(n))
	return len(m[0])
}

// plural says a size used as a name: "four 10s" is "four tens".
func (s *speller) plural(rest string) int {
	m := pluralRE.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) || m[1] == "0" {
		return 0
	}
	// "10s" is "tens" after a count, "ten seconds" would be printed "10 s".
	words := decimal(m[1])
	switch {
	case strings.HasSuffix(words, "y"):
		words = strings.TrimSuffix(words, "y") + "ies"
	case strings.HasSuffix(words, "x"):
		words += "es"
	default:
		words += "s"
	}
	s.say(words)
	if s.wantsDigits(m[1]) {
		s.mark(":")
		s.say(digitByDigit(m[1]))
		s.mark(",")
	}
	return len(m[0])
}

// label says a letter and a number: "T30", "E12", "ABC-12".
func (s *speller) label(rest string) int {
	m := label.FindStringSubmatch(rest)
	if m == nil || !endsWord(m[0], rest[len(m[0]):]) || strings.Contains(m[0], " ") {
		return 0
	}
	if _, known := initialisms[m[1]]; known {
		s.say(sayWord(m[1]))
	} else {
		s.say(strings.Join(strings.Split(m[1], ""), " "))
	}
	s.number(m[2])
	return len(m[0])
}

// number says a printed number, and its digits when they are wanted.
func (s *speller) number(printed string) {
	s.say(decimal(printed))
	if s.wantsDigits(printed) {
		s.mark(":")
		s.say(digitByDigit(printed))
		s.mark(",")
	}
}

// wantsDigits reports whether the number is followed by its digits. Where they
// have been said already, as in "one point two five", they are not said again.
func (s *speller) wantsDigits(printed string) bool {
	if decimal(printed) == digitByDigit(printed) {
		return false
	}
	return s.opts.Digits || (s.opts.ReadBack && confusable(printed))
}

// quantity says an amount with what may follow: a tolerance, the other end of a
// range, a second measure, the unit.
func (s *speller) quantity(rest string) int {
	a, n := s.amount(rest)
	if n == 0 {
		return 0
	}
	whole := a.whole
	apart := false // a comma before the unit
	for {
		tail := rest[n:]
		trimmed := strings.TrimLeft(tail, " ")
		space := len(tail) - len(trimmed)
		if after, ok := strings.CutPrefix(trimmed, "±"); ok {
			b := strings.TrimLeft(after, " ")
			if m := amount.FindString(b); m != "" {
				s.mark(",")
				s.say("plus or minus")
				_, k := s.amount(b)
				n += space + len("±") + len(after) - len(b) + k
				apart, whole = true, false
				continue
			}
		}
		if m := rangeRE.FindStringSubmatch(tail); m != nil {
			lead := len(m[0]) - len(m[1])
			b := tail[lead:]
			neg := strings.HasPrefix(b, "-")
			if _, k := (&speller{}).amount(strings.TrimPrefix(b, "-")); k > 0 && !strings.HasPrefix(m[1], ".") {
				s.say("to")
				if neg {
					s.say("minus")
					lead++
				}
				_, k = s.amount(tail[lead:])
				n += lead + k
				whole = false
				continue
			}
		}
		if m := timesRE.FindStringSubmatch(tail); m != nil {
			if strings.HasPrefix(m[1], "M") {
				s.mark(",") // "4 x M8": four of them
				return n + len(m[0]) - len(m[1])
			}
			s.say("by")
			_, k := s.amount(tail[len(m[0])-len(m[1]):])
			n += len(m[0]) - len(m[1]) + k
			whole = false
			continue
		}
		form, u := s.unitAfter(trimmed, a, space)
		if form == "" {
			return n
		}
		n += space + len(form)
		if apart {
			s.mark(",")
		}
		if toolNouns[wordRE.FindString(strings.TrimLeft(rest[n:], " "))] && !a.bare {
			u.many = u.one // "a ten millimetre spanner"
		}
		s.unit(u, a, whole)
		// A turn that follows is its own stage: "40 N·m + 90°".
		if next := strings.TrimLeft(rest[n:], " "); strings.HasPrefix(next, "+") && amount.MatchString(strings.TrimLeft(next[1:], " ")) {
			s.mark(",")
		}
		return n
	}
}

// printedAmount is what an amount was: a whole number, a mixed or a bare fraction.
type printedAmount struct {
	one    bool // exactly 1
	whole  bool // a whole number
	bare   bool // a fraction below one, like 9/16
	half   bool // 1/2
	single bool // one part: 1/8
	text   string
}

// amount says the amount at the start of rest and gives its length.
func (s *speller) amount(rest string) (printedAmount, int) {
	m := amount.FindStringSubmatch(rest)
	if m == nil {
		return printedAmount{}, 0
	}
	n := len(m[0])
	switch {
	case m[1] != "": // mixed
		over, _ := strconv.Atoi(m[2])
		under, _ := strconv.Atoi(m[3])
		f := fraction(over, under)
		if f == "" || over >= under {
			s.number(m[1])
			return printedAmount{whole: true, one: m[1] == "1", text: m[1]}, len(m[1])
		}
		if under == 2 {
			f = "a half"
		}
		s.say(decimal(m[1]) + " and " + f)
		return printedAmount{text: m[0]}, n
	case m[4] != "":
		over, _ := strconv.Atoi(m[4])
		under, _ := strconv.Atoi(m[5])
		f := fraction(over, under)
		if f == "" || over >= under {
			s.number(m[4])
			s.say("of")
			s.number(m[5])
			return printedAmount{whole: true, text: m[0]}, n
		}
		s.say(f)
		if s.opts.Digits && under > 10 {
			s.mark(":")
			s.say(digitByDigit(m[4]) + " over " + digitByDigit(m[5]))
			s.mark(",")
		}
		return printedAmount{bare: true, half: under == 2, single: over == 1, text: m[0]}, n
	}
	s.number(m[6])
	return printedAmount{one: m[6] == "1", whole: !strings.Contains(m[6], "."), text: m[6]}, n
}

// unit says the unit after an amount.
func (s *speller) unit(u spokenUnit, a printedAmount, whole bool) {
	switch {
	case a.bare && u.one == "inch":
		// "three quarter inch", "nine sixteenths inch".
		if n := len(s.out); n > 0 && s.out[n-1] == "quarters" {
			s.out[n-1] = "quarter"
		}
		s.say("inch")
	case a.bare && u.one != u.many:
		article := " a "
		if strings.ContainsRune("aeiou", rune(u.one[0])) || u.one == "hour" {
			article = " an "
		}
		if a.half {
			s.out = s.out[:len(s.out)-2]
			s.say("half" + article + u.one)
			return
		}
		s.say("of" + article + u.one)
	case a.one && whole:
		s.say(u.one)
	default:
		s.say(u.many)
	}
}

// unitAfter finds the unit printed after an amount. "in" is an inch only where
// it cannot be the word: "9/16 in", not "4 in the tray".
func (s *speller) unitAfter(rest string, a printedAmount, space int) (string, spokenUnit) {
	form, u := unitAt(rest)
	switch {
	case form == "" || space > 1:
		return "", spokenUnit{}
	case form == "pt" && space == 0:
		return form, spokenUnit{one: "point", many: "point"} // a twelve-point socket
	case form == `"` || form == "″":
		if space > 0 || (form == `"` && s.quotes%2 == 1) {
			return "", spokenUnit{}
		}
	case form == "in" || form == "in.":
		next := wordRE.FindString(strings.TrimLeft(rest[len(form):], " "))
		if next == "" || toolNouns[next] || inchToo[next] {
			break
		}
		if a.whole || inchNever[next] {
			return "", spokenUnit{}
		}
	case len(form) == 1 && unicode.IsLetter(rune(form[0])) && strings.HasPrefix(rest[1:], "'"):
		return "", spokenUnit{}
	}
	// A full stop that ends the sentence is not the unit's.
	if strings.HasSuffix(form, ".") {
		if after := strings.TrimLeft(rest[len(form):], " "); after == "" || unicode.IsUpper(firstRune(after)) {
			return form[:len(form)-1], u
		}
	}
	return form, u
}

func firstRune(s string) rune {
	r, _ := utf8.DecodeRuneInString(s)
	return r
}

// toolNouns are words that follow a size, which is then said in the singular.
// inchToo are others that follow an inch, inchNever are words that do not.
var (
	inchToo   = wordSet("long wide deep thick high across clearance thread threads pounds pound lb lbs")
	toolNouns = wordSet("wrench spanner drive socket bolt bolts nut nuts stud studs screw screws hose hoses pipe hex key bit drill tap head heads washer washers")
	inchNever = wordSet("the a an it its each all this that these those my your his her total hand order place front")
)

func wordSet(words string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(words) {
		m[w] = true
	}
	return m
}

// bareUnit says a unit without a number: "in N·m".
func (s *speller) bareUnit(rest string) int {
	form, u := unitAt(rest)
	if form == "" || !u.alone {
		return 0
	}
	// "N-m" and "lb in" need their number; a plain word that looks like a unit
	// ("thou") stays what it is.
	if strings.ContainsAny(form, " -") {
		return 0
	}
	form = strings.TrimSuffix(form, ".")
	s.say(u.many)
	return len(form)
}

func (s *speller) word(rest string) int {
	w := wordRE.FindString(rest)
	if w == "" {
		return 0
	}
	if w == "No" || w == "no" || w == "Nos" || w == "nos" {
		// "No. 3": a number, not a refusal.
		after := rest[len(w):]
		if strings.HasPrefix(after, ".") && startsFigure(strings.TrimLeft(after[1:], " ")) {
			s.say("number")
			return len(w) + 1
		}
	}
	if said := sayWord(w); said != w {
		s.say(said)
		// The point of "approx." is the word's, unless the text ends with it.
		if after := rest[len(w):]; strings.HasPrefix(after, ". ") && !unicode.IsUpper(firstRune(strings.TrimLeft(after[1:], " "))) {
			return len(w) + 1
		}
		return len(w)
	}
	if p, ok := spokenNumbers[strings.ToLower(w)]; ok && s.wantsDigits(p) {
		s.say(w)
		s.mark(":")
		s.say(digitByDigit(p))
		s.mark(",")
		return len(w)
	}
	// A hyphen joins what the lexicon knows as one word; a slash separates two.
	for i, part := range strings.Split(w, "/") {
		if i > 0 {
			s.say("or")
		}
		s.say(sayWord(part))
	}
	return len(w)
}

func startsFigure(t string) bool { return t != "" && t[0] >= '0' && t[0] <= '9' }

// sign says or drops one mark.
func (s *speller) sign(r rune, rest string) {
	next := firstRune(rest)
	switch r {
	case ' ':
	case '\n':
		s.mark(".")
	case '.', ',', '!', '?', ';', ':':
		s.mark(string(r))
	case '…':
		s.mark(".")
	case '(', ')', '[', ']', '{', '}', '–', '—', '|':
		if r == '–' && startsFigure(strings.TrimLeft(rest, " ")) {
			s.say("to")
			return
		}
		s.mark(",")
	case '"':
		s.quotes++
	case '-':
		switch {
		case startsFigure(rest) && (s.at == 1 || strings.ContainsRune(" (±", rune(s.text[s.at-2]))):
			s.say("minus")
		case next == ' ' && s.at > 1 && s.text[s.at-2] == ' ':
			s.mark(",")
		}
	case '/':
		s.say("or")
	default:
		if w, ok := symbols[string(r)]; ok {
			s.say(w)
		} else if unicode.IsLetter(r) || unicode.IsMark(r) {
			s.say(string(r))
		} else if v, ok := figureOf(r); ok {
			s.say(ones[v])
		}
	}
}

// figureOf gives the value of a figure of any script.
func figureOf(r rune) (int, bool) {
	if r >= '0' && r <= '9' {
		return int(r - '0'), true
	}
	// The figures of a script stand together, nought first.
	for _, g := range unicode.Nd.R16 {
		if uint32(r) >= uint32(g.Lo) && uint32(r) <= uint32(g.Hi) {
			return int(uint32(r)-uint32(g.Lo)) % 10, true
		}
	}
	for _, g := range unicode.Nd.R32 {
		if uint32(r) >= g.Lo && uint32(r) <= g.Hi {
			return int(uint32(r)-g.Lo) % 10, true
		}
	}
	return 0, false
}

// joined puts the words and marks together: no mark at the start, none twice,
// the stronger one of two stays.
func (s *speller) joined() string {
	const strength = ",;:.!?"
	var b strings.Builder
	pending := ""
	for _, w := range s.out {
		if strings.Contains(strength, w) {
			if pending == "" || strings.Index(strength, w) > strings.Index(strength, pending) {
				pending = w
			}
			continue
		}
		if b.Len() > 0 {
			b.WriteString(pending + " ")
		}
		pending = ""
		b.WriteString(w)
	}
	if pending != "" && pending != "," && b.Len() > 0 {
		b.WriteString(pending)
	}
	return b.String()
}

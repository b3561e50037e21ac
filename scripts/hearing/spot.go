package main

import (
	"regexp"
	"slices"
	"strings"
)

// spotter finds slots in free text, the way a program does that has a plain
// recogniser and a list of words: for each slot the longest of its phrases that
// stands in the text.
type spotter struct {
	slots  map[string][]string // phrases of each slot, longest first
	digits map[string]string
}

func newSpotter(g *orders) *spotter {
	s := &spotter{slots: g.slots(), digits: map[string]string{}}
	for _, phrases := range s.slots {
		slices.SortFunc(phrases, func(a, b string) int { return len(b) - len(a) })
	}
	for w, d := range inDigits {
		s.digits[d] = w
	}
	return s
}

var notWord = regexp.MustCompile(`[^a-z0-9']+`)

// words is text in lower case, with words for digits and without punctuation.
func (s *spotter) words(text string) string {
	list := strings.Fields(notWord.ReplaceAllString(strings.ToLower(text), " "))
	for i, w := range list {
		if d, ok := strings.CutSuffix(w, "oz"); ok && s.digits[d] != "" {
			list[i] = s.digits[d] + " ounce"
			continue
		}
		switch {
		case s.digits[w] != "":
			list[i] = s.digits[w]
		case w == "oz" || w == "ounces":
			list[i] = "ounce"
		}
	}
	return " " + strings.Join(list, " ") + " "
}

// spot gives the slots found, nil for none.
func (s *spotter) spot(text string) map[string]string {
	words := s.words(text)
	var found map[string]string
	for name, phrases := range s.slots {
		for _, p := range phrases {
			if strings.Contains(words, " "+p+" ") {
				if found == nil {
					found = map[string]string{}
				}
				found[name] = p
				break
			}
		}
	}
	return found
}

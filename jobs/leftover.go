package jobs

import (
	"putback/intent"
)

// leftOver says where something found on the bench can belong: to the groups
// that are short by the record, else to those such a fastener fits.
func (d *draft) leftOver(items []intent.Fastener) {
	var f *intent.Fastener
	if len(items) > 0 {
		f = &items[0]
	}
	fit := narrow(d.st.Groups, f, nil)
	var short, other []string
	for _, g := range fit {
		switch {
		case g.holes() > 0:
			short = append(short, spell(g.holes())+" "+g.Name)
		case g.Removed > 0 || g.Loose > 0:
			other = append(other, g.Name)
		}
	}
	switch {
	case f == nil && len(short) == 0:
		d.say(ReplyAnswer, "Nothing should be: by the record all that came off is back.")
	case len(short) > 0:
		d.say(ReplyAnswer, "By the record still out: %s.", fewOf(short, 3))
	case len(other) > 0:
		d.say(ReplyAnswer, "By the record they are all back. It could be off the %s: count there.", fewOfOr(other, 3))
	default:
		d.say(ReplyAnswer, "Nothing like it came off by the record.")
	}
}

// fewOfOr names at most n, one of which is meant.
func fewOfOr(list []string, n int) string {
	if len(list) > n {
		list = append(list[:n:n], "others")
	}
	return orList(list)
}

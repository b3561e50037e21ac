package jobs

import "time"

// tell gives what is due to be said of a timer.
func (t *timer) tell(now time.Time) (Reply, timerSaid, bool) {
	if t.Ended || t.Over {
		return Reply{}, timerSaid{}, false
	}
	src := ""
	if t.Source != "" {
		src = ", by " + t.Source
	}
	if !now.Before(t.due()) {
		text := t.Name + ": time is up" + src + "."
		if t.Limit {
			text = t.Name + ": the closing time is over" + src + ". Wipe it off and put on fresh if it is not closed."
		}
		return Reply{Kind: ReplyWarning, Text: sentence(text)}, timerSaid{Name: t.Name, Due: true}, true
	}
	if t.Warn > 0 && !t.Told && !now.Before(t.warn()) {
		return Reply{Kind: ReplyWarning, Text: sentence(t.Name + ": " + lasts(t.due().Sub(now)) + " left" + src + ".")}, timerSaid{Name: t.Name}, true
	}
	return Reply{}, timerSaid{}, false
}

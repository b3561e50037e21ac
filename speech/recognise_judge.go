package speech

// The line between acting, asking and ignoring, in terms of
//
//   - the posterior of the best meaning among those found, and
//   - the gap: how much likelier, per token, the model finds its own
//     unrestricted reading than the best reading of the language. Speech that
//     was not meant for us has an unrestricted reading that fits far better.
//
// A held reading that is much shorter than the unrestricted one leaves most of
// the sound unexplained: talk, of which a command was picked out.
//
// Chosen by caution on a few recordings, not calibrated on many: a command
// lost costs a repetition, a wrong one costs a bolt.
const (
	actPosterior = 0.75
	actGap       = 1.0
	askGap       = 2.0
)

// judge decides what should become of the result.
func (r *Recognizer) judge(res *Result, found beamResult) {
	best, ok := res.Best()
	if !ok {
		return
	}
	res.Complete = found.alive < best.Score
	gap := max(0, (res.FreeLogProb-best.LogProb)/float64(len(found.whole[0].tokens)+1))
	res.Confidence = best.Posterior * max(0, 1-gap/askGap)
	unexplained := len(found.free.tokens) > 2*len(found.whole[0].tokens)+3
	if unexplained {
		res.Confidence = 0
	}
	switch {
	case gap > askGap || unexplained:
		res.Verdict = Ignore
	case gap > actGap || best.Posterior < actPosterior:
		res.Verdict = Ask
	default:
		res.Verdict = Act
	}
}

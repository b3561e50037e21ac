package speech

// judge decides what should become of the result.
func (r *Recognizer) judge(res *Result, found beamResult) {
	best, ok := res.Best()
	if !ok {
		return
	}
	res.Confidence = best.Posterior
	res.Complete = found.alive < best.Score
	if best.LogProb-res.FreeLogProb < -10 {
		return
	}
	res.Verdict = Ask
	if best.Posterior > 0.8 {
		res.Verdict = Act
	}
}

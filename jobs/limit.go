package jobs

import "putback/jobs/measure"

// verdict says whether a measurement keeps its limits, and by how much not:
// "in", "over", "under" or "" where there is no limit.
func (l *limit) verdict() (string, measure.Quantity) {
	if l.Max.Given() {
		if v, err := l.Value.In(l.Max.Unit); err == nil && v.Amount > l.Max.Amount*(1+1e-9) {
			return "over", measure.Quantity{Amount: round9(v.Amount - l.Max.Amount), Unit: l.Max.Unit}
		}
	}
	if l.Min.Given() {
		if v, err := l.Value.In(l.Min.Unit); err == nil && v.Amount < l.Min.Amount*(1-1e-9) {
			return "under", measure.Quantity{Amount: round9(l.Min.Amount - v.Amount), Unit: l.Min.Unit}
		}
	}
	if l.Max.Given() || l.Min.Given() {
		return "in", measure.Quantity{}
	}
	return "", measure.Quantity{}
}

package jobs

import (
	"math"

	"putback/jobs/measure"
)

func round9(v float64) float64 { return math.Round(v*1e9) / 1e9 }

// guide is the range a usual bolt of the thread and class takes, N·m.
func (g *group) guide() (low, high measure.NewtonMetres, ok bool) { return 0, 0, false }

func (g *group) tighteningOrder() ([]int, string) { return nil, "" }

package jobs

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheDemoSheetHasNoProblem(t *testing.T) {
	s, problems := ParseSheet("boat-engine.yaml", DemoSheetText())
	require.Empty(t, problems)
	require.NotNil(t, s)
	require.GreaterOrEqual(t, len(s.Fasteners), 12)
	require.Len(t, s.Strip, 25)
	require.Len(t, s.Refit, 25)
}

package jobs

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// sealed is the demo job at the step where the cover is to go on.
func sealedCover(t *testing.T) *session {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(12), Where: "front cover short"})
	s.do(intent.Removed{Items: bolts(4), Where: "front cover long"})
	s.do(intent.Stage{To: "refit"})
	s.expect(intent.Done{}, "Cover sealed done. 10 minutes to close it, by the tube. Next: fit the front cover. "+
		"Front cover short 10 N·m. Front cover long 25 ± 3 N·m.")
	return s
}

func TestAClosingTimeIsWarnedOfUnaskedOnceAndAcrossARestart(t *testing.T) {
	s := sealedCover(t)
	require.Empty(t, s.tick())
	s.wait(6 * time.Minute)
	require.Empty(t, s.tick())
	// The warning comes two thirds through the limit (fastening.Sealant.WarnBefore, common practice).
	s.wait(50 * time.Second)
	require.Equal(t, []string{"Grey silicone: 3 minutes left, by the tube."}, s.tick())
	require.Empty(t, s.tick(), "it is said once")
	s.restart()
	require.Empty(t, s.tick(), "also after a restart")
	s.wait(4 * time.Minute)
	require.Equal(t, []string{"Grey silicone: the closing time is over, by the tube. Wipe it off and put on fresh if it is not closed."}, s.tick())
	s.restart()
	require.Empty(t, s.tick())
}

func TestAWarningThatFellDueWhileTheProgramWasOffIsSaidAtTheStart(t *testing.T) {
	s := sealedCover(t)
	s.wait(time.Hour)
	s.restart()
	require.Len(t, s.tick(), 1)
}

func TestTighteningEndsTheClosingTimeAndStartsTheLongWait(t *testing.T) {
	s := sealedCover(t)
	s.do(intent.Refitted{Items: all(), Where: "front cover short"})
	s.do(intent.Refitted{Items: all(), Where: "front cover long"})
	s.do(intent.Torqued{Items: all(), Where: "front cover short", Torque: nm(10), How: "wrench"})
	s.expect(intent.Torqued{Items: all(), Where: "front cover long", Torque: nm(25), How: "wrench"},
		"Four bolts torqued on the front cover long, 25 N·m. That's all of them. Grey silicone: in time. No oil or coolant for 2 hours, by the tube.")
	s.wait(10 * time.Minute)
	require.Empty(t, s.tick(), "closed: nothing to warn of")
	s.expect(intent.AskTimers{}, "Left: grey silicone before oil 1 hour 50 minutes and grey silicone full cure 23 hours 50 minutes.")
	r := s.do(intent.Filled{Fluid: "engine oil", Amount: litres(3.2)})
	require.Equal(t, ReplyObjection, r.Kind)
	require.Equal(t, "Grey silicone wants 1 hour 50 minutes more before oil or coolant. Write it down all the same?", r.Text)
	s.expect(intent.No{}, "Nothing written down.")
	s.wait(2 * time.Hour)
	require.Equal(t, []string{"Grey silicone before oil: time is up, by the tube."}, s.tick())
	s.expect(intent.Filled{Fluid: "engine oil", Amount: litres(3.2)}, "Engine oil filled, 3.2 L.")
}

func TestALockerRunsFromItsBoltsGoingIn(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(3), Where: "pump pulley bolts"})
	s.expect(intent.Refitted{Items: all(), Where: "pump pulley bolts", Snug: true},
		"Three pump pulley bolts snug. All snug. 15 minutes to torque, by the bottle.")
	s.wait(20 * time.Minute)
	require.Len(t, s.tick(), 1)
	s.expect(intent.Torqued{Items: all(), Where: "pump pulley bolts", Torque: nm(24), How: "wrench"},
		"Three pump pulley bolts torqued, 24 N·m. That's all of them. Blue locker: 5 minutes late. It cures in 24 hours, by the bottle.")
}

func TestATimerOfOnesOwnWarnsEndsAndStops(t *testing.T) {
	s := newSession(t, nil)
	s.expect(intent.Timer{Name: "soak", For: 20 * time.Minute}, "Soak: 20 minutes from now.")
	s.wait(16 * time.Minute)
	require.Equal(t, []string{"Soak: 4 minutes left."}, s.tick())
	s.wait(4 * time.Minute)
	require.Equal(t, []string{"Soak: time is up."}, s.tick())
	s.expect(intent.Timer{For: 5 * time.Minute}, "Timer: 5 minutes from now.")
	s.expect(intent.TimerOff{}, "Timer stopped.")
	s.wait(time.Hour)
	require.Empty(t, s.tick())
}

package audiotest

import (
	"fmt"
	"math"
	"os/exec"
	"strings"
	"time"
)

// Echo lets the microphone hear the loudspeaker from now on, so much later and
// weaker by loss decibels, as in a room without furniture.
func (r *Room) Echo(later time.Duration, loss float64) {
	r.t.Helper()
	module := r.load("module-loopback", "source=speaker.monitor", "sink=mic",
		fmt.Sprintf("latency_msec=%d", later.Milliseconds()), "adjust_time=0")
	out, err := exec.Command("pactl", "list", "short", "sink-inputs").Output()
	if err != nil {
		r.t.Fatal("list what plays: " + err.Error())
	}
	// PulseAudio's volume is cubic: half the amplitude is 0.79 of the scale.
	volume := fmt.Sprintf("%.0f%%", 100*math.Cbrt(math.Pow(10, -loss/20)))
	found := false
	for line := range strings.Lines(string(out)) {
		if f := strings.Fields(line); len(f) > 0 {
			found = true
			if out, err := exec.Command("pactl", "set-sink-input-volume", f[0], volume).CombinedOutput(); err != nil {
				r.t.Fatal(fmt.Sprintf("set the echo's volume: %v: %s", err, out))
			}
		}
	}
	if !found {
		r.t.Fatal("the echo, module " + module + ", plays nothing")
	}
}

// The devices of the sound server's echo canceller, see [Room.CancelEcho].
const (
	CancelledMicrophone  = "echo_free_microphone"
	CancelledLoudspeaker = "echo_free_loudspeaker"
)

// CancelEcho puts the sound server's own echo canceller between program and
// devices. The error says why there is none.
func (r *Room) CancelEcho() error {
	out, err := exec.Command("pactl", "load-module", "module-echo-cancel", "aec_method=webrtc",
		`aec_args="analog_gain_control=0 digital_gain_control=0"`,
		"source_master=mic.monitor", "sink_master=speaker", "source_name=echofree", "sink_name=echofreesink", "rate=16000", "channels=1",
		"source_properties=device.description="+CancelledMicrophone,
		"sink_properties=device.description="+CancelledLoudspeaker).CombinedOutput()
	if err != nil {
		return fmt.Errorf("load the echo canceller: %w: %s", err, strings.TrimSpace(string(out)))
	}
	return nil
}

// CancelledSettings is [Room.Settings] with the echo canceller's devices.
func (r *Room) CancelledSettings(more ...string) string {
	return r.settings(CancelledMicrophone, CancelledLoudspeaker, more...)
}

// load loads a module and gives its number.
func (r *Room) load(args ...string) string {
	r.t.Helper()
	out, err := exec.Command("pactl", append([]string{"load-module"}, args...)...).CombinedOutput()
	if err != nil {
		r.t.Fatal(fmt.Sprintf("load %s: %v: %s", args[0], err, out))
	}
	return strings.TrimSpace(string(out))
}

// unload unloads every instance of the sink called name and gives true when
// there was one.
func (r *Room) unload(name string) bool {
	r.t.Helper()
	out, err := exec.Command("pactl", "list", "short", "modules").Output()
	if err != nil {
		r.t.Fatal("list the modules: " + err.Error())
	}
	found := false
	for line := range strings.Lines(string(out)) {
		f := strings.Fields(line)
		if len(f) > 2 && f[1] == "module-null-sink" && strings.Contains(line, "sink_name="+name+" ") {
			found = exec.Command("pactl", "unload-module", f[0]).Run() == nil || found
		}
	}
	return found
}

// The null sinks behind the two devices.
var (
	speakerSink = []string{"module-null-sink", "sink_name=speaker", "rate=16000", "channels=1", "norewinds=1", "sink_properties=device.description=" + Loudspeaker}
	micSink     = []string{"module-null-sink", "sink_name=mic", "rate=16000", "channels=1", "norewinds=1", "sink_properties=device.description=" + micName}
)

// Unplug takes one device away, the microphone or the loudspeaker, while the
// sound server lives on. What played or recorded on it by hand ends.
func (r *Room) Unplug(microphone bool) {
	r.t.Helper()
	name := "speaker"
	if microphone {
		name = "mic"
	}
	if !r.unload(name) {
		r.t.Fatal("unplug: there is no " + name)
	}
}

// Plug puts a device back that [Room.Unplug] took away.
func (r *Room) Plug(microphone bool) {
	r.t.Helper()
	if microphone {
		r.load(micSink...)
		_ = exec.Command("pactl", "set-default-source", "mic.monitor").Run()
		return
	}
	r.load(speakerSink...)
	_ = exec.Command("pactl", "set-default-sink", "speaker").Run()
}

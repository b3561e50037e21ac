// Package audiotest is a sound card without hardware, for tests and
// benchmarks: a PulseAudio server of its own with a virtual microphone and a
// virtual loudspeaker.
//
//	room := audiotest.Start(t)        // skips t where PulseAudio is not installed
//	room.Say(clip)                    // into the microphone
//	rec := room.Record()              // from the loudspeaker
//	…
//	heard := rec.Stop()
//
// It also finds the recordings and models that tests may use.
package audiotest

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
	"sync"
	"time"

	"putback/audio"
)

// TB is the part of testing.TB that is used; *testing.T, or a benchmark program's own.
type TB interface {
	Helper()
	Skip(args ...any)
	Fatal(args ...any)
	Logf(format string, args ...any)
	Cleanup(func())
	TempDir() string
}

// The devices of a [Room].
const (
	// Microphone is the name of the virtual microphone for [audio.MicrophoneConfig].
	Microphone = "Monitor of " + micName
	// Loudspeaker is the name of the virtual loudspeaker.
	Loudspeaker = "workshop_speaker"

	micName = "workshop_mic" // the sink behind the microphone
)

// Room is a running sound server with its two devices.
type Room struct {
	t   TB
	dir string

	mu     sync.Mutex
	server *exec.Cmd
	exited chan struct{}
}

// Start starts a sound server in a private runtime directory and points the
// process's environment at it. It skips t, with the reason, where PulseAudio
// is not installed. The server ends with the test. One at a time in a process.
func Start(t TB) *Room {
	t.Helper()
	for _, program := range []string{"pulseaudio", "pactl", "pacat", "parec"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skip("needs PulseAudio: apt-get install pulseaudio pulseaudio-utils (" + program + " is missing)")
		}
	}
	dir, err := os.MkdirTemp("", "putback-sound-")
	if err != nil {
		t.Fatal(err)
	}
	r := &Room{t: t, dir: dir}
	old := map[string]string{}
	for key, value := range map[string]string{
		"XDG_RUNTIME_DIR": dir, "XDG_CONFIG_HOME": dir, "PULSE_SERVER": "", "PULSE_RUNTIME_PATH": "",
	} {
		old[key] = os.Getenv(key)
		os.Setenv(key, value)
		if value == "" {
			os.Unsetenv(key)
		}
	}
	t.Cleanup(func() {
		r.Stop()
		for key, value := range old {
			os.Setenv(key, value)
			if value == "" {
				os.Unsetenv(key)
			}
		}
		os.RemoveAll(dir)
	})
	if err := r.Restart(); err != nil {
		t.Fatal(err)
	}
	return r
}

// Restart starts the server, again after [Room.Stop]: a plug pulled and put back.
func (r *Room) Restart() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	// A server that was killed leaves its files.
	os.RemoveAll(filepath.Join(r.dir, "pulse"))
	var out lockedBuffer
	cmd := exec.Command("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--realtime=yes", "--high-priority=yes",
		"--load=module-native-protocol-unix",
		"--load="+strings.Join(speakerSink, " "), "--load="+strings.Join(micSink, " "),
		"--load=module-always-sink")
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("start the sound server: %w", err)
	}
	exited := make(chan struct{})
	go func() {
		_ = cmd.Wait()
		close(exited)
	}()
	r.server, r.exited = cmd, exited
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		select {
		case <-exited:
			return fmt.Errorf("the sound server ended at once: %s", out.String())
		default:
		}
		if exec.Command("pactl", "set-default-sink", "speaker").Run() == nil &&
			exec.Command("pactl", "set-default-source", "mic.monitor").Run() == nil {
			return nil
		}
	}
	return fmt.Errorf("the sound server did not answer within 20 s: %s", out.String())
}

// Stop ends the server: both devices are gone.
func (r *Room) Stop() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.server == nil {
		return
	}
	_ = r.server.Process.Kill()
	<-r.exited
	r.server = nil
}

// Say plays clip into the virtual microphone and returns when its last sample
// was handed over; it gives the time of that. The program hears it some
// milliseconds later.
func (r *Room) Say(clip audio.Samples) time.Time {
	r.t.Helper()
	return r.play("mic", clip)
}

// PlayLoudspeaker plays clip on the loudspeaker beside the program.
func (r *Room) PlayLoudspeaker(clip audio.Samples) time.Time {
	r.t.Helper()
	return r.play("speaker", clip)
}

func (r *Room) play(sink string, clip audio.Samples) time.Time {
	r.t.Helper()
	cmd := exec.Command("pacat", "--playback", "--device="+sink, "--raw", "--format=s16le", "--rate=16000", "--channels=1", "--latency-msec=200")
	cmd.Stdin = bytes.NewReader(PCM(clip))
	if out, err := cmd.CombinedOutput(); err != nil {
		r.t.Fatal(fmt.Sprintf("play into %s: %v: %s", sink, err, out))
	}
	return time.Now()
}

// Speaking is a stream into the virtual microphone that stays open.
type Speaking struct {
	cmd *exec.Cmd
	in  io.WriteCloser
}

// OpenMouth opens a stream into the microphone, for sound paced by the caller.
func (r *Room) OpenMouth() (*Speaking, error) {
	cmd := exec.Command("pacat", "--playback", "--device=mic", "--raw", "--format=s16le", "--rate=16000", "--channels=1", "--latency-msec=200")
	in, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	return &Speaking{cmd, in}, nil
}

// Write hands samples over; it waits while the server's buffer is full.
func (s *Speaking) Write(clip audio.Samples) error {
	_, err := s.in.Write(PCM(clip))
	return err
}

// Close ends the stream when everything was played.
func (s *Speaking) Close() error {
	return errors.Join(s.in.Close(), s.cmd.Wait())
}

// Recorder records what the loudspeaker plays.
type Recorder struct {
	cmd  *exec.Cmd
	mu   sync.Mutex
	pcm  []byte
	at   []mark
	done chan struct{}
}

type mark struct {
	samples int
	at      time.Time
}

// Record begins to record the loudspeaker.
func (r *Room) Record() *Recorder { return r.record("speaker.monitor") }

// RecordMicrophone begins to record what the microphone is given.
func (r *Room) RecordMicrophone() *Recorder { return r.record("mic.monitor") }

func (r *Room) record(source string) *Recorder {
	r.t.Helper()
	cmd := exec.Command("parec", "--device="+source, "--raw", "--format=s16le", "--rate=16000", "--channels=1", "--latency-msec=10")
	out, err := cmd.StdoutPipe()
	if err != nil {
		r.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		r.t.Fatal(fmt.Sprintf("record %s: %v", source, err))
	}
	rec := &Recorder{cmd: cmd, done: make(chan struct{})}
	go func() {
		defer close(rec.done)
		buf := make([]byte, 64<<10)
		for {
			n, err := out.Read(buf)
			rec.mu.Lock()
			rec.pcm = append(rec.pcm, buf[:n]...)
			if n > 0 {
				rec.at = append(rec.at, mark{len(rec.pcm) / 2, time.Now()})
			}
			rec.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	return rec
}

// Length is how many samples were recorded so far.
func (rec *Recorder) Length() int {
	rec.mu.Lock()
	defer rec.mu.Unlock()
	return len(rec.pcm) / 2
}

// Since gives what was recorded from sample n on.
func (rec *Recorder) Since(n int) audio.Samples {
	rec.mu.Lock()
	defer rec.mu.Unlock()
	return FromPCM(rec.pcm[min(2*n, len(rec.pcm)):])
}

// TimeOf is when sample n was in the air; the zero time when it is not recorded
// yet. Sound arrives in pieces and each is read a little late, so the least late
// of the pieces within three seconds gives the time; that is good to about 10 ms.
func (rec *Recorder) TimeOf(n int) time.Time {
	rec.mu.Lock()
	defer rec.mu.Unlock()
	const near = 3 * audio.Rate
	best, found := time.Time{}, false
	from := sort.Search(len(rec.at), func(i int) bool { return rec.at[i].samples >= n-near })
	for _, m := range rec.at[from:] {
		if m.samples > n+near {
			break
		}
		at := m.at.Add(time.Duration(n-m.samples) * time.Second / audio.Rate)
		if best.IsZero() || at.Before(best) {
			best = at
		}
		found = found || m.samples > n
	}
	if !found {
		return time.Time{}
	}
	return best
}

// FirstSound is the first sample from n on that is louder than above, -1 when
// there is none yet.
func (rec *Recorder) FirstSound(n int, above float64) int {
	for i, v := range rec.Since(n) {
		if math.Abs(float64(v)) > above {
			return n + i
		}
	}
	return -1
}

// Stop ends the recording and gives it.
func (rec *Recorder) Stop() audio.Samples {
	_ = rec.cmd.Process.Signal(os.Interrupt)
	select {
	case <-rec.done:
	case <-time.After(2 * time.Second):
		_ = rec.cmd.Process.Kill()
		<-rec.done
	}
	_ = rec.cmd.Wait()
	return FromPCM(rec.pcm)
}

// PCM is clip as signed 16-bit little endian.
func PCM(clip audio.Samples) []byte {
	out := make([]byte, 0, 2*len(clip))
	for _, v := range clip {
		x := math.Round(float64(v) * 32768)
		out = binary.LittleEndian.AppendUint16(out, uint16(int16(max(-32768, min(32767, x)))))
	}
	return out
}

// FromPCM is the inverse of [PCM].
func FromPCM(b []byte) audio.Samples {
	out := make(audio.Samples, len(b)/2)
	for i := range out {
		out[i] = float32(int16(binary.LittleEndian.Uint16(b[2*i:]))) / 32768
	}
	return out
}

// lockedBuffer collects a process's output.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

package audiotest

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"
)

// Turn is one line of `putback listen --jsonl`.
type Turn struct {
	Heard      string         `json:"heard"`
	Intent     string         `json:"intent"`
	Slots      map[string]any `json:"slots"`
	Reply      string         `json:"reply"`
	Events     []any          `json:"events"`
	Outcome    string         `json:"outcome"`
	Confidence float64        `json:"confidence"`
	Recognise  float64        `json:"recogniseSeconds"`
	Text       float64        `json:"replySeconds"`
	FirstSound float64        `json:"firstSoundSeconds"`

	// Came is when the line was read.
	Came time.Time `json:"-"`
}

// Program is a running `putback listen` in a [Room].
type Program struct {
	cmd  *exec.Cmd
	keys io.WriteCloser
	gone chan struct{}

	mu    sync.Mutex
	turns []Turn
	told  []string
	more  chan struct{} // closed and renewed when a line came
}

// Settings writes a settings file that names the room's devices, with more
// lines behind, and gives its path.
func (r *Room) Settings(more ...string) string {
	return r.settings(Microphone, Loudspeaker, more...)
}

func (r *Room) settings(microphone, loudspeaker string, more ...string) string {
	r.t.Helper()
	path := filepath.Join(r.dir, "settings.yaml")
	text := "microphone: " + microphone + "\nloudspeaker: " + loudspeaker + "\n" + strings.Join(more, "\n") + "\n"
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		r.t.Fatal(err)
	}
	return path
}

// Run starts the program at binary with `listen --jsonl` and args, and
// returns when it listens. It is ended with the test.
func (r *Room) Run(binary string, args ...string) *Program {
	r.t.Helper()
	p := &Program{gone: make(chan struct{}), more: make(chan struct{})}
	p.cmd = exec.Command(binary, append([]string{"listen", "--jsonl"}, args...)...)
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		r.t.Fatal(err)
	}
	told, err := p.cmd.StderrPipe()
	if err != nil {
		r.t.Fatal(err)
	}
	if p.keys, err = p.cmd.StdinPipe(); err != nil {
		r.t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		r.t.Fatal(fmt.Sprintf("start %s: %v", binary, err))
	}
	var readers sync.WaitGroup
	readers.Go(func() {
		p.read(out, func(line string) {
			turn := Turn{Came: time.Now()}
			if err := json.Unmarshal([]byte(line), &turn); err != nil {
				p.told = append(p.told, "a line that is no JSON: "+line)
				return
			}
			p.turns = append(p.turns, turn)
		})
	})
	readers.Go(func() { p.read(told, func(line string) { p.told = append(p.told, line) }) })
	go func() {
		readers.Wait()
		_ = p.cmd.Wait()
		close(p.gone)
	}()
	r.t.Cleanup(func() { p.Stop() })
	if !p.WaitTold(60*time.Second, "listening on") {
		r.t.Fatal("the program did not listen within a minute; it said: " + strings.Join(p.Told(), " / "))
	}
	return p
}

func (p *Program) read(from io.Reader, take func(string)) {
	lines := bufio.NewScanner(from)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		p.mu.Lock()
		take(lines.Text())
		close(p.more)
		p.more = make(chan struct{})
		p.mu.Unlock()
	}
}

// Press presses the talk key: Return on the program's standard input.
func (p *Program) Press() error {
	_, err := io.WriteString(p.keys, "\n")
	return err
}

// Turns are the turns so far.
func (p *Program) Turns() []Turn {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]Turn(nil), p.turns...)
}

// Told are the lines for the user so far.
func (p *Program) Told() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]string(nil), p.told...)
}

// wait waits until found is true of the lines so far.
func (p *Program) wait(most time.Duration, found func() bool) bool {
	end := time.After(most)
	for {
		p.mu.Lock()
		more, ok := p.more, found()
		p.mu.Unlock()
		if ok {
			return true
		}
		select {
		case <-more:
		case <-p.gone:
			p.mu.Lock()
			defer p.mu.Unlock()
			return found()
		case <-end:
			return false
		}
	}
}

// WaitTold waits for a line for the user that contains text.
func (p *Program) WaitTold(most time.Duration, text string) bool {
	return p.wait(most, func() bool {
		for _, line := range p.told {
			if strings.Contains(line, text) {
				return true
			}
		}
		return false
	})
}

// WaitTurn waits for a turn, behind the first n, of which is is true.
func (p *Program) WaitTurn(n int, most time.Duration, is func(Turn) bool) (Turn, bool) {
	var turn Turn
	ok := p.wait(most, func() bool {
		for _, t := range p.turns[min(n, len(p.turns)):] {
			if is(t) {
				turn = t
				return true
			}
		}
		return false
	})
	return turn, ok
}

// Processor is the processor time used so far.
func (p *Program) Processor() (time.Duration, error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.cmd.Process.Pid))
	if err != nil {
		return 0, fmt.Errorf("read the processor time: %w", err)
	}
	// The fields behind the name in brackets; user and system time are the
	// 14th and 15th of all, in ticks of 10 ms (proc(5)).
	rest := string(text[strings.LastIndexByte(string(text), ')')+2:])
	fields := strings.Fields(rest)
	var ticks int64
	for _, f := range fields[11:13] {
		n, err := strconv.ParseInt(f, 10, 64)
		if err != nil {
			return 0, fmt.Errorf("read the processor time: %w", err)
		}
		ticks += n
	}
	return time.Duration(ticks) * 10 * time.Millisecond, nil
}

// Memory is the resident memory in bytes.
func (p *Program) Memory() (int64, error) { return ResidentMemory(p.cmd.Process.Pid) }

// ResidentMemory is the resident memory of a process in bytes.
func ResidentMemory(pid int) (int64, error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0, fmt.Errorf("read the memory: %w", err)
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			n, err := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
			return n << 10, err
		}
	}
	return 0, fmt.Errorf("read the memory: no VmRSS for process %d", pid)
}

// Stop ends the program as Ctrl-C does and waits for it; after 20 s it is killed.
func (p *Program) Stop() {
	select {
	case <-p.gone:
		return
	default:
	}
	_ = p.cmd.Process.Signal(syscall.SIGINT)
	select {
	case <-p.gone:
	case <-time.After(20 * time.Second):
		_ = p.cmd.Process.Kill()
		<-p.gone
	}
}

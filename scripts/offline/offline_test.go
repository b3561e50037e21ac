//go:build linux

// Package offline holds one test of a promise: a whole session sends nothing
// anywhere. The program runs in a network namespace that has no interface but
// the loopback, and the kernel's own counters of that namespace tell whether
// so much as one packet or connection was tried.
package offline

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/require"

	"putback/models"
)

// What this test's own binary does when it is run with one of these set:
// send one packet; or, inside a fresh namespace, run the command given as
// arguments and write the namespace's counters to a file.
const (
	probe  = "PUTBACK_OFFLINE_PROBE"
	warden = "PUTBACK_OFFLINE_REPORT"
)

func TestMain(m *testing.M) {
	address, report := os.Getenv(probe), os.Getenv(warden)
	switch {
	case report != "":
		os.Exit(watch(report, os.Args[1:]))
	case address != "":
		if c, err := net.Dial("udp", address); err == nil {
			_, _ = c.Write([]byte("x"))
		}
	default:
		os.Exit(m.Run())
	}
}

// watch brings the loopback up (without it the kernel does not count what is
// tried over IPv6), runs the command and keeps the counters.
func watch(report string, command []string) int {
	if err := raiseLoopback(); err != nil {
		fmt.Fprintln(os.Stderr, "raising the loopback:", err)
		return 1
	}
	os.Unsetenv(warden)
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = os.Stdin, os.Stdout, os.Stderr
	runErr := cmd.Run()
	var counted []byte
	for _, table := range []string{"dev", "snmp", "snmp6"} {
		b, err := os.ReadFile("/proc/self/net/" + table)
		if err != nil {
			fmt.Fprintln(os.Stderr, "reading the counters:", err)
			return 1
		}
		counted = append(counted, b...)
	}
	if err := os.WriteFile(report, counted, 0o644); err != nil {
		fmt.Fprintln(os.Stderr, "keeping the counters:", err)
		return 1
	}
	if runErr != nil {
		fmt.Fprintln(os.Stderr, "the command:", runErr)
		return 1
	}
	return 0
}

// raiseLoopback sets the flag IFF_UP of lo: netdevice(7).
func raiseLoopback() error {
	fd, err := syscall.Socket(syscall.AF_INET, syscall.SOCK_DGRAM, 0)
	if err != nil {
		return err
	}
	defer syscall.Close(fd)
	request := struct {
		name  [16]byte
		flags uint16
		_     [22]byte
	}{flags: syscall.IFF_UP | syscall.IFF_RUNNING}
	copy(request.name[:], "lo")
	if _, _, errno := syscall.Syscall(syscall.SYS_IOCTL, uintptr(fd), syscall.SIOCSIFFLAGS, uintptr(unsafe.Pointer(&request))); errno != 0 {
		return errno
	}
	return nil
}

// session is what came of one command in the namespace.
type session struct {
	stdout     string
	interfaces []string
	tries      map[string]int // kernel counters that are not zero
}

// The counters that any attempt to send moves, a refused one too: packets
// given to IP, attempts without a route, connections opened, datagrams.
// Their meaning: RFC 1213 and RFC 4293, Linux proc(5) /proc/net/snmp.
var counters = []string{
	"Ip.OutRequests", "Ip.OutNoRoutes", "Tcp.ActiveOpens", "Udp.OutDatagrams",
	"Ip6OutRequests", "Ip6OutNoRoutes", "Udp6OutDatagrams",
}

// run runs a command in a namespace of its own and then reads the namespace's counters.
func run(t *testing.T, stdin string, args ...string) session {
	t.Helper()
	report := filepath.Join(t.TempDir(), "report")
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self, args...)
	cmd.Env = append(os.Environ(), warden+"="+report)
	cmd.Stdin = strings.NewReader(stdin)
	var out, said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &said
	cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNET}
	if uid := os.Getuid(); uid != 0 {
		cmd.SysProcAttr.Cloneflags |= syscall.CLONE_NEWUSER
		cmd.SysProcAttr.UidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: uid, Size: 1}}
	}
	err = cmd.Start()
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.ENOSYS) || errors.Is(err, syscall.EINVAL) {
		t.Skipf("this machine lets nobody make a network namespace: %v", err)
	}
	require.NoError(t, err)
	require.NoError(t, cmd.Wait(), "%v: %s", args, said.String())
	return readReport(t, report, out.String())
}

func readReport(t *testing.T, path, stdout string) session {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	s := session{stdout: stdout, tries: make(map[string]int)}
	names := make(map[string][]string)
	values := make(map[string]int)
	for lines := bufio.NewScanner(f); lines.Scan(); {
		fields := strings.Fields(lines.Text())
		if len(fields) < 2 {
			continue
		}
		group, isGroup := strings.CutSuffix(fields[0], ":")
		switch {
		case len(fields) == 2: // snmp6: one counter a line
			values[fields[0]], _ = strconv.Atoi(fields[1])
		case isGroup && names[group] != nil: // snmp: the second line of a group
			for i, name := range names[group] {
				values[group+"."+name], _ = strconv.Atoi(fields[i+1])
			}
		case isGroup && fields[1][0] >= 'A': // snmp: the first line, names
			names[group] = fields[1:]
		case isGroup: // dev
			s.interfaces = append(s.interfaces, group)
		}
	}
	for _, name := range counters {
		require.Contains(t, values, name, "the kernel keeps this counter")
		if values[name] != 0 {
			s.tries[name] = values[name]
		}
	}
	return s
}

// program builds the program under test.
func program(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "putback")
	said, err := exec.Command("go", "build", "-o", path, "putback/cmd/putback").CombinedOutput()
	require.NoError(t, err, string(said))
	return path
}

func TestTheCountersSeeAnAttemptToSend(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	for _, address := range []string{"192.0.2.1:53", "[2001:db8::1]:53"} { // RFC 5737, RFC 3849: addresses of no one
		t.Setenv(probe, address)
		s := run(t, "", self)
		require.NotEmpty(t, s.tries, "an attempt to reach %s went unseen", address)
	}
}

func TestATypedSessionSendsNothing(t *testing.T) {
	sheets, err := filepath.Glob("../../jobs/demo/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, sheets, "the demo sheet")
	job := filepath.Join(t.TempDir(), "cover.putback")
	putback := program(t)
	lines := "took four tens off the front cover\nwhat's left\n66 inch pounds in newton metres\nwhere was I\nstrike that\n"
	s := run(t, lines, putback, "type", "--jsonl", "--job", job, "--sheet", sheets[0])
	require.Equal(t, []string{"lo"}, s.interfaces)
	require.Empty(t, s.tries, "counters of attempts to send")

	replies := 0
	for line := range strings.Lines(s.stdout) {
		var said struct{ Heard, Reply string }
		require.NoError(t, json.Unmarshal([]byte(line), &said), line)
		if said.Reply != "" {
			replies++
		}
	}
	require.GreaterOrEqual(t, replies, 5, s.stdout)

	s = run(t, "", putback, "history", job)
	require.Empty(t, s.tries)
	require.NotEmpty(t, s.stdout)
}

func TestHearingSendsNothing(t *testing.T) {
	if _, err := models.Path("tiny.en"); err != nil {
		t.Skipf("hearing needs its model: %v", err)
	}
	flite, err := exec.LookPath("flite")
	if err != nil {
		t.Skipf("the sentence to hear is spoken by flite, which is not installed: %v", err)
	}
	dir := t.TempDir()
	wav, grammar := filepath.Join(dir, "said.wav"), filepath.Join(dir, "lamp.jsgf")
	require.NoError(t, exec.Command(flite, "-t", "switch on the work lamp", "-o", wav).Run())
	require.NoError(t, os.WriteFile(grammar, []byte("#JSGF V1.0;\ngrammar lamp;\npublic <order> = switch (on | off) {state} the work lamp;\n"), 0o644))
	s := run(t, "", program(t), "hear", "--jsonl", "--grammar", grammar, wav)
	require.Equal(t, []string{"lo"}, s.interfaces)
	require.Empty(t, s.tries, "counters of attempts to send")
	var heard struct {
		File string
		Text string
	}
	require.NoError(t, json.Unmarshal([]byte(s.stdout), &heard), s.stdout)
	require.Contains(t, strings.ToLower(heard.Text), "lamp")
}

// TestAWholeListeningSessionSendsNothing goes from sound to the record and the spoken reply.
func TestAWholeListeningSessionSendsNothing(t *testing.T) {
	for _, name := range []string{"tiny.en", "silero", "hibari", "onnxruntime"} {
		if _, err := models.Path(name); err != nil {
			t.Skipf("listening needs its models: %v", err)
		}
	}
	flite, err := exec.LookPath("flite")
	if err != nil {
		t.Skipf("the sentence to hear is spoken by flite, which is not installed: %v", err)
	}
	dir := t.TempDir()
	wav, settings, job := filepath.Join(dir, "said.wav"), filepath.Join(dir, "config.yaml"), filepath.Join(dir, "cover.putback")
	require.NoError(t, exec.Command(flite, "-voice", "slt", "-t", "toolbox, what's next?", "-o", wav).Run())
	require.NoError(t, os.WriteFile(settings, nil, 0o600))
	putback := program(t)
	s := run(t, "", putback, "listen", "--wav", wav, "--fast", "--jsonl", "--replies", filepath.Join(dir, "replies"),
		"--config", settings, "--job", job, "--sheet", "../../jobs/demo/boat-engine.yaml", "--address", "open")
	require.Equal(t, []string{"lo"}, s.interfaces)
	require.Empty(t, s.tries, "counters of attempts to send")
	require.Contains(t, s.stdout, `"heard"`, "something was heard")

	report := filepath.Join(dir, "report.html")
	s = run(t, "", putback, "report", job, "--out", report)
	require.Empty(t, s.tries)
	require.FileExists(t, report)
}

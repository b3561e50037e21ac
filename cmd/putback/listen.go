package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"putback/audio"
	"putback/board"
	"putback/cmd/putback/internal/config"
	"putback/cmd/putback/internal/live"
	"putback/intent"
	"putback/jobs"
	"putback/speech"
)

// listenFlags are the flags of `listen`.
type listenFlags struct {
	jobFlags
	wav, replies, board, model, settings, address, clock string
	fast, json, mute                                     bool
}

func listenCommand() *cobra.Command {
	var f listenFlags
	c := &cobra.Command{
		Use:   "listen",
		Short: "listen at the bench and answer aloud",
		Long: `Listens on the microphone, or to a WAV file that stands in for it, keeps the
record and answers aloud. Say "toolbox" first, unless it has just answered.

` + "Settings are read from " + config.Path() + " when it is there; `putback selftest --settings`\nprints a whole one with its defaults.",
		Example: `  putback listen --job cover.putback --board 127.0.0.1:8321
  putback listen --job cover.putback --wav session.wav --fast --replies replies/`,
		Args: exactly(0),
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c) },
	}
	f.add(c)
	c.Flags().StringVar(&f.wav, "wav", "", "a WAV file in place of the microphone; - reads raw 16-bit 16 kHz mono from a pipe")
	c.Flags().BoolVar(&f.fast, "fast", false, "with --wav: as fast as it can be recognised, not at audio speed")
	c.Flags().StringVar(&f.replies, "replies", "", "with --wav: the folder for the spoken replies, one WAV each")
	c.Flags().StringVar(&f.board, "board", "", "serve the page for the bench at this address, such as 127.0.0.1:8321; :8321 also lets in other devices that have the link it prints")
	c.Flags().StringVar(&f.model, "model", "", "tiny.en, base, tiny.en+base (base hears what tiny.en is unsure of), or a ggml file of your own")
	c.Flags().StringVar(&f.settings, "config", "", "the settings file (default: "+config.Path()+")")
	c.Flags().StringVar(&f.address, "address", "", "call: after the call word; open: always; key: after a key press")
	c.Flags().StringVar(&f.clock, "clock", "", "with --fast: the time of the first sample (RFC 3339)")
	c.Flags().BoolVar(&f.json, "jsonl", false, "print one JSON object a turn")
	c.Flags().BoolVar(&f.mute, "mute", false, "do not speak, print only")
	_ = c.MarkFlagFilename("wav", "wav")
	return c
}

func (f *listenFlags) run(c *cobra.Command) (err error) {
	if f.fast && f.wav == "" {
		return errUsage{errors.New("--fast needs --wav FILE: a microphone cannot be hurried")}
	}
	if f.replies != "" && f.wav == "" {
		return errUsage{errors.New("--replies needs --wav FILE: with a microphone the replies go to the loudspeaker")}
	}
	set, err := f.load()
	if err != nil {
		return err
	}
	tell := lineTeller(c.ErrOrStderr())
	s := session{set: set, out: c.OutOrStdout(), tell: tell, json: f.json}
	if s.now, err = sessionClock(f.clock, f.fast); err != nil {
		return err
	}
	if s.source, err = f.source(set, tell, c.InOrStdin()); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.source.Close()) }()
	bench, err := f.open(s.start(), set.CallWord, c.ErrOrStderr())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, bench.Close()) }()
	sayNotices(c.ErrOrStderr(), bench)
	s.talk = newConversation(bench, set.CallWord)
	s.fast, s.live = f.fast, f.wav == ""
	if !f.mute && set.Voice != "none" {
		closeVoice, err := s.openVoice(f.wav != "", f.replies)
		if err != nil {
			return err
		}
		defer closeVoice()
	}
	if s.live && set.Pedal && (isTerminal(c.InOrStdin()) || set.Address == string(live.ByKey)) {
		s.key = keyPresses(c.InOrStdin())
	}
	return s.run(c.Context(), set.Board)
}

// load reads the settings; flags override them.
func (f *listenFlags) load() (config.Config, error) {
	path := f.settings
	if path == "" {
		path = config.Path()
	} else if _, err := os.Stat(path); err != nil {
		return config.Config{}, fmt.Errorf("reading the settings: %w", err)
	}
	set, err := config.Load(path)
	if err != nil {
		return set, err
	}
	if f.model != "" {
		set.Model = f.model
	}
	if f.board != "" {
		set.Board = f.board
	}
	switch f.address {
	case "":
	case "call", "open", "key":
		set.Address = f.address
	default:
		return set, errUsage{fmt.Errorf("--address is call, open or key, not %q", f.address)}
	}
	return set, nil
}

// sessionClock gives the time of the first sample of a hurried session; nil:
// the computer's clock.
func sessionClock(start string, fast bool) (*time.Time, error) {
	if start == "" {
		return nil, nil
	}
	if !fast {
		return nil, errUsage{errors.New("--clock goes with --fast")}
	}
	at, err := time.Parse(time.RFC3339, start)
	if err != nil {
		return nil, errUsage{fmt.Errorf("--clock %q is not a time like 2026-05-02T09:00:00Z: %w", start, err)}
	}
	return &at, nil
}

func (f *listenFlags) source(set config.Config, tell func(string), in io.Reader) (audio.Source, error) {
	switch f.wav {
	case "":
		mic, err := audio.OpenMicrophone(audio.MicrophoneConfig{Device: set.Microphone, Tell: tell})
		if err != nil {
			return nil, fmt.Errorf("%w; `putback selftest` lists the devices, `putback demo` needs none", err)
		}
		return mic, nil
	case "-":
		return audio.NewPipe(in), nil
	}
	sound, err := audio.ReadWAV(f.wav)
	if err != nil {
		return nil, err
	}
	return audio.NewRecording(sound, f.fast), nil
}

// session is one run of the listening loop with everything it needs.
type session struct {
	set    config.Config
	talk   *conversation
	source audio.Source
	voice  live.Voice
	speak  live.Speaker
	files  *replyFiles // set when the replies go to WAV files
	out    io.Writer
	tell   func(string)
	json   bool
	fast   bool
	live   bool       // microphone and loudspeaker in one room
	now    *time.Time // start of a hurried session
	key    chan struct{}
	// answered is called after each exchange that was reported; may be nil.
	answered func(live.Exchange, audio.Samples)
}

// start is the time the session begins.
func (s *session) start() time.Time {
	if s.now != nil {
		return *s.now
	}
	return time.Now()
}

// openVoice opens voice and loudspeaker, or the WAV writer in place of it.
func (s *session) openVoice(toFiles bool, dir string) (func(), error) {
	voice, line, err := openVoice(s.set, speech.Companion)
	if err != nil {
		return nil, err
	}
	if line != "" {
		s.tell(line)
	}
	s.voice = voice
	if toFiles {
		s.files = &replyFiles{dir: dir}
		s.speak = s.files
		return func() { voice.Close() }, nil
	}
	out, err := openLoudspeaker(s.set, voice.Rate(), s.tell)
	if err != nil {
		s.tell(fmt.Sprintf("no loudspeaker (%v): the replies are printed only", err))
		s.voice = nil
		return func() { voice.Close() }, nil
	}
	s.speak = out
	return func() { out.Close(); voice.Close() }, nil
}

// settings turns the person's settings into the loop's.
func (s *session) settings() live.Settings {
	half := s.set.HalfDuplex == "yes" || (s.set.HalfDuplex == "auto" && s.live)
	return live.Settings{
		Address: live.Address(s.set.Address), CallWord: s.set.CallWord, FollowUp: s.set.FollowUp,
		Settle: s.set.Settle, Linger: s.set.Linger, Expect: s.set.Expect,
		HalfDuplex: half, Volume: s.set.Volume, HighPass: s.set.HighPass,
		ToneHeard: s.set.ToneHeard, ToneMissed: s.set.ToneMissed, ToneAlert: s.set.ToneAlert,
		Segment: audio.SegmenterConfig{Threshold: s.set.Threshold},
	}
}

// run listens until the source or ctx ends, with the page at addr when that is not empty.
func (s *session) run(ctx context.Context, addr string) (err error) {
	speech.SaveMemory()
	var options []speech.Option
	if s.set.Threads > 0 {
		options = append(options, speech.Threads(s.set.Threads))
	}
	recognizer, err := openRecognizer(s.set.Model, options...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, recognizer.Close()) }()
	ear := &live.GrammarEar{
		Recogniser: recognizer, Grammar: s.talk.grammar, CallWord: s.set.CallWord,
		Understand: func(r intent.Reading) (intent.Intent, error) { return intent.FromReading(r) },
	}
	if s.live {
		if err := s.warm(ctx, ear); err != nil {
			return err
		}
	}
	vad, line := openVAD()
	if line != "" {
		s.tell(line)
	}
	if s.key == nil {
		s.key = make(chan struct{}, 1)
	}
	o := live.Options{
		Source: s.source, VAD: vad, Bench: s.talk.bench, Voice: s.voice, Speaker: s.speak,
		Ear:      ear,
		Settings: s.settings(), Fast: s.fast, Start: s.start(), Key: s.key,
		Resembles: speech.Resembles, Tell: s.tell,
	}
	if out, ok := s.speak.(*loudspeaker); ok && s.live && s.set.Echo == "subtract" {
		o.Given = out.Given().Frame
	}
	page := func() {}
	if addr != "" {
		server, err := s.board(addr)
		if err != nil {
			return err
		}
		o.Publish = func(st live.Status) { server.Publish(boardLive(st)) }
		page = server.Changed
		ctx2, stop := context.WithCancel(ctx)
		served := make(chan error, 1)
		go func() { served <- server.Serve(ctx2, addr) }()
		defer func() { stop(); err = errors.Join(err, <-served) }()
		select {
		case err := <-served:
			served <- nil
			return err
		case <-time.After(100 * time.Millisecond):
		}
	}
	o.Report = func(x live.Exchange) {
		page()
		s.report(x)
	}
	if s.live {
		s.tell(s.listening())
	}
	if err = live.Run(ctx, o); errors.Is(err, context.Canceled) && ctx.Err() != nil {
		err = nil // the person ended it
	}
	return err
}

// practice are sentences of the kinds that are said most. What they share with
// others is then in the recogniser's memory.
var practice = []string{
	", what's next?", ", done.", ", took four tens off the front cover.", ", how many are out?",
	", torque for the long ones.", ", twenty five newton metres in foot pounds.",
}

// frequent are replies, whole or in part, that are said often.
var frequent = []string{"Say again?", "Nothing to strike.", "Noted.", "Yes?"}

// warm lets the ear and the voice do once what is slow the first time, before
// anybody waits for it.
func (s *session) warm(ctx context.Context, ear *live.GrammarEar) error {
	voice, ok := s.voice.(*speech.Voice)
	if !ok {
		return nil
	}
	if err := voice.Warm(ctx, frequent); err != nil {
		return err
	}
	for _, line := range practice {
		clip, err := voice.Say(ctx, s.set.CallWord+line, speech.SayOptions{})
		if err != nil {
			return err
		}
		ear.Practice = append(ear.Practice, audio.Resample(clip.Samples, clip.Rate, audio.Rate))
	}
	return ear.Prepare(ctx)
}

// listening is the line that says that it may be talked to.
func (s *session) listening() string {
	mic := s.set.Microphone
	if mic == "" {
		mic = "the default microphone"
	}
	how := fmt.Sprintf("say %q first", s.set.CallWord)
	switch live.Address(s.set.Address) {
	case live.Always:
		how = "just speak"
	case live.ByKey:
		how = fmt.Sprintf("press Return or the pedal first, or say %q", s.set.CallWord)
	}
	return fmt.Sprintf("listening on %s; %s", mic, how)
}

// boardLive turns the loop's status into the page's.
func boardLive(st live.Status) board.Live {
	mode := string(st.Mode)
	if st.Mode == live.Idle {
		mode = board.Listening // the page has one word for both
	}
	return board.Live{Mode: mode, Level: st.Level, Heard: st.Heard, Understood: st.Understood, Reply: st.Reply}
}

// liveLine is one turn as `listen --jsonl` prints it.
type liveLine struct {
	turn
	Outcome    string  `json:"outcome"`
	Confidence float64 `json:"confidence"`
	At         float64 `json:"at"`    // seconds into the sound where its speech began
	Until      float64 `json:"until"` // and where it ended
	Recognise  float64 `json:"recogniseSeconds"`
	ReplyText  float64 `json:"replySeconds,omitempty"` // from the end of speech to the reply's text
	FirstSound float64 `json:"firstSoundSeconds,omitempty"`
	File       string  `json:"file,omitempty"`
}

// report prints one exchange. Talk that was not meant for the program is not shown.
func (s *session) report(x live.Exchange) {
	var sound audio.Samples
	var file string
	if s.files != nil {
		var err error
		if sound, file, err = s.files.take(); err != nil {
			s.tell(err.Error())
		}
	}
	if s.answered != nil {
		s.answered(x, sound)
	}
	name := intentName(x.Hearing.Intent)
	if s.json {
		l := liveLine{
			turn:    turn{Heard: x.Hearing.Text, Intent: x.Hearing.Reading.Rule, Slots: slotMap(x.Hearing.Reading), Reply: x.Reply.Text, Events: x.Events},
			Outcome: string(x.Outcome), Confidence: x.Hearing.Confidence, At: x.Start.Seconds(), Until: x.End.Seconds(),
			Recognise: x.Heard.Seconds(), ReplyText: x.Ready.Seconds(), FirstSound: x.Sound.Seconds(), File: file,
		}
		if l.Events == nil {
			l.Events = []jobs.Event{}
		}
		if err := json.NewEncoder(s.out).Encode(l); err != nil {
			s.tell(err.Error())
		}
		return
	}
	if x.Outcome == live.Ignored || x.Outcome == live.OwnVoice || x.Outcome == live.KeptQuiet {
		return
	}
	if x.Hearing.Text != "" {
		fmt.Fprintf(s.out, "%s  heard       %s  (%.2f, %.2f s)\n", clockOf(x.Start), x.Hearing.Text, x.Hearing.Confidence, x.Heard.Seconds())
	}
	if name != "" && x.Outcome == live.Answered {
		fmt.Fprintf(s.out, "        understood  %s\n", understood(x.Hearing.Intent))
	}
	for _, e := range x.Events {
		fmt.Fprintf(s.out, "        changed     %s\n", jobs.Words(e))
	}
	if x.Reply.Text != "" {
		extra := ""
		if file != "" {
			extra = "  [" + file + "]"
		}
		if x.Sound > 0 {
			extra += fmt.Sprintf("  (first sound after %.2f s)", x.Sound.Seconds())
		}
		fmt.Fprintf(s.out, "        answered    %s%s\n", x.Reply.Text, extra)
	}
}

// clockOf prints a place in the sound.
func clockOf(d time.Duration) string {
	return fmt.Sprintf("%02d:%04.1f", int(d.Minutes()), d.Seconds()-60*float64(int(d.Minutes())))
}

// intentName is the name of an intent's type, "" for none.
func intentName(in intent.Intent) string {
	if in == nil {
		return ""
	}
	return strings.TrimPrefix(fmt.Sprintf("%T", in), "intent.")
}

// understood is an intent for people: its name and what is set in it.
func understood(in intent.Intent) string {
	data, err := json.Marshal(in)
	if err != nil || string(data) == "{}" {
		return intentName(in)
	}
	var fields map[string]any
	if json.Unmarshal(data, &fields) != nil {
		return intentName(in)
	}
	prune(fields)
	short, err := json.Marshal(fields)
	if err != nil || len(fields) == 0 {
		return intentName(in)
	}
	return intentName(in) + " " + string(short)
}

// prune takes empty values out of m.
func prune(m map[string]any) {
	for k, v := range m {
		switch v := v.(type) {
		case nil:
			delete(m, k)
		case string:
			if v == "" {
				delete(m, k)
			}
		case bool:
			if !v {
				delete(m, k)
			}
		case float64:
			if v == 0 {
				delete(m, k)
			}
		case map[string]any:
			if prune(v); len(v) == 0 {
				delete(m, k)
			}
		case []any:
			for _, e := range v {
				if e, ok := e.(map[string]any); ok {
					prune(e)
				}
			}
		}
	}
}

// lineTeller prints lines for the user, from any goroutine.
func lineTeller(w io.Writer) func(string) {
	var mu sync.Mutex
	return func(line string) {
		mu.Lock()
		defer mu.Unlock()
		fmt.Fprintln(w, "putback: "+line)
	}
}

// keyPresses turns each line typed into a press of the talk key: a pedal that
// types Return, or the Return key.
func keyPresses(in io.Reader) chan struct{} {
	keys := make(chan struct{}, 1)
	go func() {
		lines := bufio.NewScanner(in)
		for lines.Scan() {
			select {
			case keys <- struct{}{}:
			default:
			}
		}
	}()
	return keys
}

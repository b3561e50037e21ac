package main

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"putback/audio"
	"putback/audio/audiotest"
)

// lapse lets the program hear hours of a shop's day as fast as it can and
// watches its memory.
func (b *bench) lapse() error {
	return hosted(func(h *host) error {
		job := filepath.Join(h.TempDir(), "lapse.putback")
		cmd := exec.Command(b.program, "listen", "--jsonl", "--wav", "-", "--fast", "--clock", "2030-05-01T08:00:00Z", "--job", job, "--sheet", demoSheet)
		in, err := cmd.StdinPipe()
		if err != nil {
			return err
		}
		out, err := cmd.StdoutPipe()
		if err != nil {
			return err
		}
		cmd.Stderr = os.Stderr
		if err := cmd.Start(); err != nil {
			return err
		}
		turns := make(chan int, 1)
		go func() {
			n := 0
			for lines := bufio.NewReader(out); ; n++ {
				if _, err := lines.ReadString('\n'); err != nil {
					turns <- n
					return
				}
			}
		}()
		minutes := int(b.hours * 60)
		random := rand.New(rand.NewPCG(3, 5))
		begun := time.Now()
		fmt.Println()
		said := 0
		for minute := range minutes {
			sound, n, err := b.shopMinute(random, minute)
			if err != nil {
				return err
			}
			said += n
			if _, err := in.Write(audiotest.PCM(sound)); err != nil {
				return fmt.Errorf("after %d minutes: %w", minute, err)
			}
			if minute == 4 || (minute+1)%max(1, minutes/8) == 0 {
				bytes, err := audiotest.ResidentMemory(cmd.Process.Pid)
				if err != nil {
					return err
				}
				fmt.Printf("time-lapse, after %3d min: memory %.0f MB\n", minute+1, float64(bytes)/1e6)
			}
		}
		if err := in.Close(); err != nil {
			return err
		}
		n := <-turns
		if err := cmd.Wait(); err != nil {
			return err
		}
		used := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
		fmt.Printf("time-lapse of %d min took %.0f s, %.0f s of processor time: %d commands said, %d turns reported\n",
			minutes, time.Since(begun).Seconds(), used.Seconds(), said, n)
		return nil
	})
}

// shopMinute is a minute of a shop: a command, some talk in every third, the
// engine in every second.
func (b *bench) shopMinute(random *rand.Rand, minute int) (audio.Samples, int, error) {
	sound := audio.Silence(time.Minute)
	if minute%2 == 1 {
		at := random.IntN(len(b.noise))
		for i := range sound {
			sound[i] = b.noise[(at+i)%len(b.noise)]
		}
	}
	said := 0
	lay := func(clip audio.Samples, second int) {
		for i, v := range clip {
			if k := second*audio.Rate + i; k < len(sound) {
				sound[k] += v
			}
		}
	}
	clip, err := b.say(lines[minute%len(lines)])
	if err != nil {
		return nil, 0, err
	}
	lay(clip, 3)
	said++
	if minute%3 == 2 && len(b.talk) > 0 {
		at := random.IntN(len(b.talk))
		lay(b.talk[at:min(len(b.talk), at+6*audio.Rate)], 30)
	}
	return sound, said, nil
}

package audio

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/gen2brain/malgo"
)

// ErrNoDevice is returned when there is no such microphone or loudspeaker.
var ErrNoDevice = errors.New("no such sound device")

// Device is a microphone or loudspeaker the system knows.
type Device struct {
	Name    string
	Default bool
	id      malgo.DeviceID
}

// Microphones lists the capture devices.
func Microphones() ([]Device, error) { return devices(malgo.Capture) }

// Loudspeakers lists the playback devices.
func Loudspeakers() ([]Device, error) { return devices(malgo.Playback) }

func devices(kind malgo.DeviceType) ([]Device, error) {
	ctx, err := openContext()
	if err != nil {
		return nil, err
	}
	defer closeContext(ctx)
	return contextDevices(ctx, kind)
}

func contextDevices(ctx *malgo.AllocatedContext, kind malgo.DeviceType) ([]Device, error) {
	infos, err := ctx.Devices(kind)
	if err != nil {
		return nil, fmt.Errorf("list sound devices: %w", err)
	}
	out := make([]Device, 0, len(infos))
	for _, in := range infos {
		out = append(out, Device{Name: in.Name(), Default: in.IsDefault != 0, id: in.ID})
	}
	return out, nil
}

// openContext connects to the sound system: PulseAudio (or PipeWire in its
// guise) first, bare ALSA else; on other systems what miniaudio prefers.
// miniaudio's null device is never taken: silence is not a microphone.
//
// A context does not outlive its sound server, so each device has its own.
func openContext() (*malgo.AllocatedContext, error) {
	backends := []malgo.Backend{
		malgo.BackendWasapi, malgo.BackendCoreaudio,
		malgo.BackendPulseaudio, malgo.BackendAlsa, malgo.BackendJack,
	}
	// The thread is asked to be real time where the system lets a user do that;
	// where it does not, miniaudio goes on with a plain one.
	cfg := malgo.ContextConfig{ThreadPriority: malgo.ThreadPriorityRealtime}
	ctx, err := malgo.InitContext(backends, cfg, func(string) {})
	if err != nil {
		return nil, fmt.Errorf("open the sound system: %w (%w); is a sound card or PulseAudio there?", ErrNoDevice, err)
	}
	return ctx, nil
}

func closeContext(ctx *malgo.AllocatedContext) {
	_ = ctx.Uninit()
	ctx.Free()
}

// abandonAfter is how long a device may take to close.
const abandonAfter = 2 * time.Second

// closeDevice closes a device and its context. On a sound server that died
// miniaudio waits for an answer without end; such a device is left behind in a
// goroutine of its own, a few kilobytes for each time the server dies.
func closeDevice(dev *malgo.Device, ctx *malgo.AllocatedContext) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		dev.Uninit()
		closeContext(ctx)
	}()
	select {
	case <-done:
	case <-time.After(abandonAfter):
	}
}

// findDevice picks a device by name: the whole name, else one that contains it,
// case ignored. The empty name takes the system's default (nil).
func findDevice(ctx *malgo.AllocatedContext, kind malgo.DeviceType, name string) (*Device, error) {
	all, err := contextDevices(ctx, kind)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%w: the sound system lists none", ErrNoDevice)
	}
	if name == "" {
		return nil, nil
	}
	d, err := matchDevice(all, name)
	if err != nil {
		return nil, err
	}
	return &d, nil
}

// matchDevice is the choice by name.
func matchDevice(all []Device, name string) (Device, error) {
	var names []string
	var near []Device
	for _, d := range all {
		if strings.EqualFold(d.Name, name) {
			return d, nil
		}
		if strings.Contains(strings.ToLower(d.Name), strings.ToLower(name)) {
			near = append(near, d)
		}
		names = append(names, fmt.Sprintf("%q", d.Name))
	}
	switch len(near) {
	case 1:
		return near[0], nil
	case 0:
		return Device{}, fmt.Errorf("%w: %q; there are %s", ErrNoDevice, name, strings.Join(names, ", "))
	}
	return Device{}, fmt.Errorf("%w: %q fits %d devices (%q and %q); write the whole name", ErrNoDevice, name, len(near), near[0].Name, near[1].Name)
}

// Package onnxrt starts the ONNX runtime once for the whole process.
//
// Two rooms run ONNX graphs: audio (voice activity) and speech/voice
// (synthesis). The runtime's environment is global to the process and must be
// set up exactly once, so both call [Init] here and neither calls the
// binding's own InitializeEnvironment. Whoever comes first sets the library;
// later calls get the same result.
//
//	if err := onnxrt.Init(libraryPath); err != nil { … fall back … }
//	opts, err := onnxrt.Options()
//	session, err := ort.NewAdvancedSession(model, ins, outs, inTensors, outTensors, opts)
//
// Keep every tensor and scalar that a session was given referenced from Go as
// long as the session lives: the binding does not, and a collected scalar
// changes what the model computes without any error.
package onnxrt

import (
	"fmt"
	"os"
	"sync"

	ort "github.com/yalue/onnxruntime_go"
)

var (
	mu      sync.Mutex
	started bool
)

// Init loads the shared library at path (libonnxruntime of API 24, that is
// version 1.24 or newer) and starts the runtime. Calls after a successful one
// do nothing, whatever their path. After a failure it may be tried again. It is
// safe for concurrent use.
func Init(path string) error {
	mu.Lock()
	defer mu.Unlock()
	if started || ort.IsInitialized() {
		started = true
		return nil
	}
	if _, err := os.Stat(path); err != nil {
		return fmt.Errorf("start the ONNX runtime: %w; run `putback models fetch`", err)
	}
	ort.SetSharedLibraryPath(path)
	if err := ort.InitializeEnvironment(ort.WithLogLevelError()); err != nil {
		return fmt.Errorf("start the ONNX runtime from %s: %w; it must be version 1.24 or newer, run `putback models fetch`", path, err)
	}
	started = true
	return nil
}

// Started reports whether the runtime is up.
func Started() bool {
	mu.Lock()
	defer mu.Unlock()
	return started
}

// Options gives the session options both rooms want: one thread, no spinning.
// A spinning pool beside the recogniser costs it seconds on two cores. The
// caller destroys them after the session is made.
func Options() (*ort.SessionOptions, error) {
	opts, err := ort.NewSessionOptions()
	if err != nil {
		return nil, fmt.Errorf("make ONNX session options: %w", err)
	}
	for _, set := range []func() error{
		func() error { return opts.SetIntraOpNumThreads(1) },
		func() error { return opts.SetInterOpNumThreads(1) },
		func() error { return opts.AddSessionConfigEntry("session.intra_op.allow_spinning", "0") },
		func() error { return opts.AddSessionConfigEntry("session.inter_op.allow_spinning", "0") },
	} {
		if err := set(); err != nil {
			_ = opts.Destroy()
			return nil, fmt.Errorf("set ONNX session options: %w", err)
		}
	}
	return opts, nil
}

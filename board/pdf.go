package board

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"putback/jobs"
)

// ErrNoBrowser is the error of [PDF] where no Chromium is installed. The HTML report
// can still be printed from any browser.
var ErrNoBrowser = errors.New("no Chromium found to print with: install the package chromium, or open the HTML report in any browser and print it")

// pdfWithin is how long the browser may take over one report.
const pdfWithin = 2 * time.Minute

// ReportPDF writes the report that [Report] writes as a PDF, by [PDF]. w is
// written to only when the whole PDF is there.
func ReportPDF(ctx context.Context, w io.Writer, v jobs.View, history []jobs.Event, o ReportOptions) error {
	var html bytes.Buffer
	if err := Report(&html, v, history, o); err != nil {
		return err
	}
	pdf, err := PDF(ctx, html.Bytes())
	if err != nil {
		return err
	}
	if _, err := w.Write(pdf); err != nil {
		return fmt.Errorf("writing the report of %q: %w", v.Job, err)
	}
	return nil
}

// PDF prints the HTML of a report, as [Report] wrote it, to a PDF, by a headless Chromium
// found on the path. The error is [ErrNoBrowser] where there is none, ctx's when it ended, else the
// browser's with what it said.
func PDF(ctx context.Context, html []byte) ([]byte, error) {
	browser := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			browser = p
			break
		}
	}
	if browser == "" {
		return nil, ErrNoBrowser
	}
	dir, err := os.MkdirTemp("", "putback-report-")
	if err != nil {
		return nil, fmt.Errorf("printing the report: %w", err)
	}
	defer os.RemoveAll(dir)
	in, out := filepath.Join(dir, "report.html"), filepath.Join(dir, "report.pdf")
	if err := os.WriteFile(in, html, 0o600); err != nil {
		return nil, fmt.Errorf("printing the report: %w", err)
	}
	args := []string{
		"--headless", "--disable-gpu", "--no-first-run", "--disable-quic", "--disable-background-networking", "--disable-component-update",
		"--disable-sync", "--disable-dev-shm-usage", "--user-data-dir=" + filepath.Join(dir, "profile"), "--no-pdf-header-footer", "--print-to-pdf=" + out, "file://" + in,
	}
	if os.Geteuid() == 0 {
		// Chromium refuses to start its sandbox for root; the file it opens is our own and runs no script.
		args = append([]string{"--no-sandbox"}, args...)
	}
	ctx, cancel := context.WithTimeout(ctx, pdfWithin)
	defer cancel()
	cmd := exec.CommandContext(ctx, browser, args...)
	var said bytes.Buffer
	cmd.Stderr = &said
	cmd.WaitDelay = 5 * time.Second
	err = cmd.Run()
	if ctx.Err() != nil {
		return nil, fmt.Errorf("printing the report by %s: %w", browser, ctx.Err())
	}
	pdf, readErr := os.ReadFile(out)
	if err = errors.Join(err, readErr); err == nil && !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		err = errors.New("what it wrote is no PDF")
	}
	if err != nil {
		tail := said.Bytes()
		tail = tail[max(0, len(tail)-600):]
		return nil, fmt.Errorf("printing the report by %s: %w\n%s", browser, err, bytes.TrimSpace(tail))
	}
	return pdf, nil
}

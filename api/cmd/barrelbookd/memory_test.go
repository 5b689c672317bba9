package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

var loadFor = flag.Duration("load", 2*time.Second, "how long TestMemoryStaysBounded loads the daemon")

// mostMiB is what the daemon stays below with its default settings, whatever its
// callers send: README.md says so.
const mostMiB = 1024

// TestMemoryStaysBounded sends the real daemon, from many callers at once, the
// heaviest that a token may send, and reads how much memory its process ever had.
// By -load 60s it does so for longer.
func TestMemoryStaysBounded(t *testing.T) {
	if runtime.GOOS != "linux" || testing.Short() {
		t.Skip("it reads /proc, and loads a daemon")
	}
	dir := t.TempDir()
	database := filepath.Join(dir, "load.db")
	secrets := make([]string, 12)
	for i := range secrets {
		out, err := command(t, "token", "create", "--name", fmt.Sprint("caller", i), "--role", "admin", "--database", database)
		if err != nil {
			t.Fatal(err)
		}
		secrets[i] = strings.TrimSpace(out)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	_ = l.Close()
	// What is under way when the load ends runs until its time is up.
	timeout := max(8*time.Second, min(*loadFor, 20*time.Second))
	daemon := exec.Command(os.Args[0], "--database", database, "--listen", address, "--volatile", "--request-timeout", timeout.String())
	daemon.Env = append(os.Environ(), asDaemon+"=1")
	if err := daemon.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = daemon.Process.Kill(); _ = daemon.Wait() }()
	load := &loader{url: "http://" + address, codes: map[string]int{}}
	load.waitReady(t)
	ctx, cancel := context.WithTimeout(t.Context(), *loadFor+2*time.Minute)
	defer cancel()
	load.prepare(ctx, t, secrets[0])
	until := time.Now().Add(*loadFor)
	var all sync.WaitGroup
	for i := range 48 {
		all.Go(func() {
			random := rand.New(rand.NewPCG(uint64(i), 5))
			for n := 0; time.Now().Before(until); n++ {
				load.heaviest(ctx, secrets[random.IntN(len(secrets))], random.IntN(7), i*100_000+n)
			}
		})
	}
	all.Wait()
	t.Logf("answers by request and status: %v", load.codes)
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", daemon.Process.Pid))
	if err != nil {
		t.Fatalf("the daemon is gone: %v", err)
	}
	_, peak, _ := strings.Cut(string(status), "VmHWM:")
	kB, err := strconv.Atoi(strings.Fields(peak)[0])
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("the process had at most %d MiB", kB/1024)
	if kB/1024 > mostMiB {
		t.Errorf("the process had %d MiB, above the %d MiB stated", kB/1024, mostMiB)
	}
	if load.codes["pieces 200"] == 0 || load.codes["works 200"] == 0 {
		t.Error("nobody was served")
	}
}

// loader sends requests and counts the answers.
type loader struct {
	url   string
	mu    sync.Mutex
	codes map[string]int
	hard  string
	lives string
}

func (l *loader) waitReady(t *testing.T) {
	for range 200 {
		if r, err := http.Get(l.url + "/readyz"); err == nil {
			_ = r.Body.Close()
			if r.StatusCode == 200 {
				return
			}
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("the daemon did not come up")
}

func (l *loader) send(ctx context.Context, name, secret, method, path, body string, slow bool) int {
	r, err := http.NewRequestWithContext(ctx, method, l.url+path, strings.NewReader(body))
	if err != nil {
		return 0
	}
	r.Header.Set("Authorization", "Bearer "+secret)
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	if strings.HasPrefix(path, "/v1/pieces") {
		r.Header.Set("Content-Type", "application/x-ndjson")
	}
	code := 0
	w, err := http.DefaultClient.Do(r)
	if err == nil { // else it was cut while the body was sent: it was refused
		code = w.StatusCode
		if slow { // a reader who takes its time
			_, _ = io.CopyN(io.Discard, w.Body, 64<<10)
			time.Sleep(300 * time.Millisecond)
		} else {
			_, _ = io.Copy(io.Discard, w.Body)
		}
		_ = w.Body.Close()
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.codes[fmt.Sprint(name, " ", code)]++
	return code
}

// programme is one of 5,000 pieces through seven stands.
func programme(name string) string {
	var b bytes.Buffer
	fmt.Fprintf(&b, `{"name":%q,"mill":"HSM","pieces":[`, name)
	for i := range 5000 {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, `{"id":"p%d","mass_t":20,"width_mm":1200,"entry_thickness_mm":30,"passes":[`, i)
		for k := range 7 {
			if k > 0 {
				b.WriteByte(',')
			}
			fmt.Fprintf(&b, `{"stand":"F%d","exit_thickness_mm":%d,"force_kn":15000,"speed_m_per_s":2,"temperature_c":950}`, k+1, 20-2*k)
		}
		b.WriteString(`]}`)
	}
	b.WriteString(`]}`)
	return b.String()
}

func (l *loader) prepare(ctx context.Context, t *testing.T, secret string) {
	must := func(path, body string) {
		if code := l.send(ctx, "prepare", secret, "POST", path, body, false); code != 201 {
			t.Fatalf("%s: %d", path, code)
		}
	}
	must("/v1/mills", `{"name":"HSM","kind":"hot_strip"}`)
	for k := range 7 {
		must("/v1/stands", fmt.Sprintf(`{"name":"F%d","mill":"HSM","order":%d,"arrangement":"four_high"}`, k+1, k+1))
	}
	must("/v1/campaigns", programme("large"))
	var lives bytes.Buffer
	lives.WriteString(`{"observations":[{"value":1,"failed":true}`)
	for i := range 190_000 {
		fmt.Fprintf(&lives, `,{"value":          1%05d.123456789012345,    "failed":                 %t         }`, i*7919%99991, i%3 > 0)
	}
	lives.WriteString(`]}`)
	l.lives = lives.String()
	type stand struct {
		Name   string  `json:"name"`
		Limit  int64   `json:"limit"`
		Change float64 `json:"change_cost"`
		Usage  []int64 `json:"usage"`
	}
	plan := struct {
		Pieces  int     `json:"pieces"`
		Stop    float64 `json:"stop_cost"`
		Planned float64 `json:"planned_stop_cost"`
		Stops   []int   `json:"planned_stops"`
		Stands  []stand `json:"stands"`
	}{Pieces: 5000, Stop: 17, Planned: 3}
	for j := 1; j < plan.Pieces; j += 2 {
		plan.Stops = append(plan.Stops, j)
	}
	for s := range 60 {
		one := stand{Name: fmt.Sprint(s), Limit: int64(6000 + 613*s), Change: float64(3 + s)}
		for j := range plan.Pieces {
			one.Usage = append(one.Usage, int64(100+(j*7919+s*104729)%97))
		}
		plan.Stands = append(plan.Stands, one)
	}
	text, err := json.Marshal(plan)
	if err != nil {
		t.Fatal(err)
	}
	l.hard = string(text)
}

func (l *loader) heaviest(ctx context.Context, secret string, which, n int) {
	switch which {
	case 0:
		l.send(ctx, "weibull", secret, "POST", "/v1/calculations/weibull", l.lives, false)
	case 1:
		l.send(ctx, "change-plan", secret, "POST", "/v1/calculations/change-plan", l.hard, false)
	case 2:
		l.send(ctx, "get campaign", secret, "GET", "/v1/campaigns/large", "", n%2 == 0)
	case 3:
		l.send(ctx, "load campaign", secret, "POST", "/v1/campaigns?dry_run=true", programme(fmt.Sprint("c", n)), false)
	case 4:
		l.send(ctx, "finish check", secret, "POST", "/v1/campaigns/large/finish-checks", `{}`, false)
	case 5:
		l.send(ctx, "works", secret, "GET", "/v1/works", "", false)
	case 6:
		var lines bytes.Buffer
		for i := range 40 {
			fmt.Fprintf(&lines, `{"source":"s","id":"%d-%d","note":%q}`+"\n", n, i, strings.Repeat("x", 200_000))
		}
		l.send(ctx, "pieces", secret, "POST", "/v1/pieces", lines.String(), false)
	}
}

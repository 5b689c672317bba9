// Package demo holds the demo works and loads them through the API. The works
// are invented; the files are made by the program in generate, from a seed, and
// can be made again and larger.
package demo

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"embed"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"sort"
	"strings"
	"time"
)

//go:embed */ahead.json */history.ndjson.gz */pieces.ndjson.gz
var files embed.FS

// DefaultMill is the mill shown when none is named.
const DefaultMill = "hot-strip"

// Mills lists the names of the demo mills.
func Mills() []string {
	dirs, err := fs.ReadDir(files, ".")
	if err != nil {
		panic(err) // the files are part of the program
	}
	var names []string
	for _, d := range dirs {
		names = append(names, d.Name())
	}
	sort.Strings(names)
	return names
}

// Request is one call of the API that the loader asks for.
type Request struct {
	Method      string
	Path        string
	ContentType string
	IfMatch     string // empty when none is needed
	Body        []byte
}

// Do sends a request and gives status, ETag and body.
type Do func(ctx context.Context, r Request) (status int, etag string, answer []byte, err error)

// Options choose what is loaded.
type Options struct {
	Mill string    // Defaults to DefaultMill
	Now  time.Time // the moment that becomes the works' present
	// Progress, when set, is told of each request done of all.
	Progress func(done, all int)
}

// Ahead is what the demo asks once the works are loaded.
type Ahead struct {
	Mill     string
	Campaign string
	// Roll came back worn and has not been ground; Regrind is the body that
	// records its grind.
	Roll    string
	Regrind json.RawMessage
}

// event is one request of the history.
type event struct {
	At   time.Time      `json:"at"`
	Path string         `json:"path"`
	Body map[string]any `json:"body"`
}

// ahead is the file of that name.
type ahead struct {
	Anchor   time.Time      `json:"anchor"`
	Mill     string         `json:"mill"`
	Campaign map[string]any `json:"campaign"`
	Regrind  struct {
		Roll string         `json:"roll"`
		Body map[string]any `json:"body"`
	} `json:"regrind"`
}

// Load puts a demo works into an empty service: history, pieces, programme.
// All times are moved so that the anchor of the files becomes o.Now.
func Load(ctx context.Context, do Do, o Options) (Ahead, error) {
	if o.Mill == "" {
		o.Mill = DefaultMill
	}
	var next ahead
	raw, err := files.ReadFile(o.Mill + "/ahead.json")
	if err != nil {
		return Ahead{}, fmt.Errorf("there is no demo mill %q; there are: %s", o.Mill, strings.Join(Mills(), ", "))
	}
	if err := json.Unmarshal(raw, &next); err != nil {
		return Ahead{}, err
	}
	l := loader{do: do, shift: o.Now.UTC().Truncate(time.Second).Sub(next.Anchor), progress: o.Progress}
	if err := l.history(ctx, o.Mill); err != nil {
		return Ahead{}, err
	}
	l.move(next.Campaign)
	if _, err := l.post(ctx, "/v1/campaigns", next.Campaign); err != nil {
		return Ahead{}, err
	}
	regrind, err := json.Marshal(next.Regrind.Body)
	return Ahead{Mill: next.Mill, Campaign: fmt.Sprint(next.Campaign["name"]), Roll: next.Regrind.Roll, Regrind: regrind}, err
}

type loader struct {
	do       Do
	shift    time.Duration
	progress func(done, all int)
}

// history posts the requests one after the other, in the order of time, and the
// pieces of a stretch before the first request that tells who was in a stand: a
// roll comes out when what wore it is in the books.
func (l loader) history(ctx context.Context, millName string) error {
	lines, err := readLines(millName + "/history.ndjson.gz")
	if err != nil {
		return err
	}
	pieces, err := l.readPieces(millName)
	if err != nil {
		return err
	}
	for i, line := range lines {
		var e event
		if err := json.Unmarshal(line, &e); err != nil {
			return err
		}
		l.move(e.Body)
		if e.At.IsZero() {
			return fmt.Errorf("request %d of the history has no moment", i+1)
		}
		done, inStand := 0, e.Path == "/v1/changes" || e.Path == "/v1/incidents"
		for inStand && done < len(pieces) && pieces[done].at.Before(e.At.Add(l.shift)) {
			done++
		}
		if err := l.pieces(ctx, pieces[:done]); err != nil {
			return err
		}
		pieces = pieces[done:]
		if _, err := l.post(ctx, e.Path, e.Body); err != nil {
			return fmt.Errorf("request %d of the history: %w", i+1, err)
		}
		if l.progress != nil {
			l.progress(i+1, len(lines))
		}
	}
	return l.pieces(ctx, pieces)
}

// rolled is a piece as it is sent.
type rolled struct {
	at   time.Time
	line []byte
}

func (l loader) readPieces(millName string) ([]rolled, error) {
	lines, err := readLines(millName + "/pieces.ndjson.gz")
	if err != nil {
		return nil, err
	}
	pieces := make([]rolled, len(lines))
	for i, line := range lines {
		var piece map[string]any
		if err := json.Unmarshal(line, &piece); err != nil {
			return nil, err
		}
		l.move(piece)
		if pieces[i].at, err = time.Parse(time.RFC3339, fmt.Sprint(piece["rolled_at"])); err != nil {
			return nil, err
		}
		if pieces[i].line, err = json.Marshal(piece); err != nil {
			return nil, err
		}
	}
	sort.SliceStable(pieces, func(i, j int) bool { return pieces[i].at.Before(pieces[j].at) })
	return pieces, nil
}

// pieces sends pieces in one stream and wants each of them stored.
func (l loader) pieces(ctx context.Context, pieces []rolled) error {
	if len(pieces) == 0 {
		return nil
	}
	var body bytes.Buffer
	for _, p := range pieces {
		body.Write(p.line)
		body.WriteByte('\n')
	}
	answer, err := l.send(ctx, Request{Method: http.MethodPost, Path: "/v1/pieces", ContentType: "application/x-ndjson", Body: body.Bytes()})
	if err != nil {
		return err
	}
	var summary struct {
		Stored int `json:"stored_count"`
	}
	last := answer[bytes.LastIndexByte(bytes.TrimSpace(answer), '\n')+1:]
	if err := json.Unmarshal(last, &summary); err != nil {
		return fmt.Errorf("summary of the pieces: %w", err)
	}
	if summary.Stored != len(pieces) {
		return fmt.Errorf("%d of %d pieces were stored: %s", summary.Stored, len(pieces), answer[:min(len(answer), 600)])
	}
	return nil
}

// post sends a body; a set is broken at the version it has.
func (l loader) post(ctx context.Context, path string, body map[string]any) ([]byte, error) {
	raw, err := json.Marshal(body)
	if err != nil {
		return nil, err
	}
	r := Request{Method: http.MethodPost, Path: path, ContentType: "application/json", Body: raw}
	if set, breaking := strings.CutSuffix(path, "/breakings"); breaking {
		_, etag, _, err := l.do(ctx, Request{Method: http.MethodGet, Path: set})
		if err != nil {
			return nil, err
		}
		r.IfMatch = etag
	}
	status, _, answer, err := l.do(ctx, r)
	if err != nil || status != http.StatusUnprocessableEntity {
		return taken(r, status, answer, err)
	}
	// Those who ran the works looked again at what they were asked about: it was right.
	var problem struct {
		Questions []struct {
			Question string `json:"question"`
		} `json:"questions"`
	}
	if err := json.Unmarshal(answer, &problem); err != nil || len(problem.Questions) == 0 {
		return taken(r, status, answer, err)
	}
	var names []string
	for _, q := range problem.Questions {
		names = append(names, q.Question)
	}
	body["confirmed"] = names
	if r.Body, err = json.Marshal(body); err != nil {
		return nil, err
	}
	return l.send(ctx, r)
}

func (l loader) send(ctx context.Context, r Request) ([]byte, error) {
	status, _, answer, err := l.do(ctx, r)
	return taken(r, status, answer, err)
}

// taken is the answer to a request that was to be taken.
func taken(r Request, status int, answer []byte, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	if status >= 300 {
		return nil, fmt.Errorf("%s %s: %d: %s", r.Method, r.Path, status, answer)
	}
	return answer, nil
}

// move shifts every moment of a body, and of what is in it.
func (l loader) move(body map[string]any) {
	for _, key := range []string{"stays", "regrind"} {
		switch part := body[key].(type) {
		case map[string]any:
			l.move(part)
		case []any:
			for _, one := range part {
				l.move(one.(map[string]any))
			}
		}
	}
	for _, key := range []string{"at", "received_at", "rolled_at", "starts_at", "mounted_at", "withdrawn_at", "ordered_at", "due_at"} {
		text, ok := body[key].(string)
		if !ok {
			continue
		}
		if t, err := time.Parse(time.RFC3339, text); err == nil {
			body[key] = t.Add(l.shift).UTC().Format(time.RFC3339)
		}
	}
}

func readLines(name string) ([][]byte, error) {
	f, err := files.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return nil, err
	}
	var lines [][]byte
	r := bufio.NewReader(z)
	for {
		line, err := r.ReadBytes('\n')
		if len(bytes.TrimSpace(line)) > 0 {
			lines = append(lines, line)
		}
		if err == io.EOF {
			return lines, nil
		}
		if err != nil {
			return nil, err
		}
	}
}

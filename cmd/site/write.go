package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"text/template"
	"time"

	"sagline/cmd/site/calls"
	"sagline/plotting"
	"sagline/plotting/report"
	"sagline/predict/advice"
	"sagline/session/disk"
)

//go:embed page
var page embed.FS

// A site holds its files by name. Each version has a folder of its own, so that a host, a browser and
// a service worker never mix two versions.
type site map[string][]byte

// versionDigits is the length of a version's name.
const versionDigits = 12

// marker is the file by which a folder with a site is recognised.
const marker = "service.js"

// write writes the site into a folder that is new, is empty, or has a site.
func write(folder string) error {
	if err := free(folder); err != nil {
		return err
	}
	s, err := build()
	if err != nil {
		return err
	}
	if err := s.save(folder); err != nil {
		return err
	}
	return removeOldVersions(folder, time.Now())
}

// needed is how long a version is needed after the next one was written: a browser uses its cache for
// up to a day before it asks for a newer service.js (W3C, Service Workers, "stale" registrations).
const needed = 24 * time.Hour

// removeOldVersions removes the versions that no phone can still be fetching. It recognises a version
// by its folder's name and its worker.js.
func removeOldVersions(folder string, now time.Time) error {
	list, err := filepath.Glob(filepath.Join(folder, strings.Repeat("[0-9a-f]", versionDigits), "worker.js"))
	if err != nil {
		return err
	}
	written := map[string]time.Time{}
	for _, worker := range list {
		about, err := os.Stat(worker)
		if err != nil {
			return err
		}
		written[filepath.Dir(worker)] = about.ModTime()
	}
	all := slices.SortedFunc(maps.Keys(written), func(a, b string) int { return written[a].Compare(written[b]) })
	for i := 0; i+1 < len(all); i++ {
		if now.Sub(written[all[i+1]]) > needed {
			if err := os.RemoveAll(all[i]); err != nil {
				return err
			}
		}
	}
	return nil
}

// save writes the files into a folder.
func (s site) save(folder string) error {
	for name, text := range s {
		path := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := disk.SaveText(path, text); err != nil {
			return err
		}
	}
	return nil
}

// free returns an error if a folder has files but no site.
func free(folder string) error {
	list, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(list) == 0 {
		return nil
	}
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(list, func(e fs.DirEntry) bool { return e.Name() == marker }) {
		return fmt.Errorf("%s: holds other files, nothing written; want a new folder", folder)
	}
	return nil
}

// build makes the site's files.
func build() (site, error) {
	var small, large, glue []byte
	var wrong [3]error
	var all sync.WaitGroup
	all.Go(func() { small, wrong[0] = model("") })
	all.Go(func() { large, wrong[1] = model("pages") })
	all.Go(func() { glue, wrong[2] = wasmExec() })
	all.Wait()
	if err := errors.Join(wrong[:]...); err != nil {
		return nil, err
	}
	s := site{"model.bin": small, later: large, "wasm_exec.js": glue}
	list, err := page.ReadDir("page")
	if err != nil {
		return nil, err
	}
	for _, f := range list {
		if s[f.Name()], err = page.ReadFile("page/" + f.Name()); err != nil {
			return nil, err
		}
	}
	first, _ := new(calls.Logbook).Call("early", "{}")
	s["first.js"] = []byte("const first = " + first + ".value // the form of a line before there is a logbook\n")
	for _, name := range scripts {
		s["page.js"] = slices.Concat(s["page.js"], []byte("\n"), s[name])
		delete(s, name)
	}
	return s.versioned()
}

// scripts are appended to page.js, since one file loads faster than many.
var scripts = []string{"logbooks.js", "vehicle.js", "drafts.js", "dive.js", "fields.js", "keep.js", "files.js", "trend.js", "pages.js", "first.js", "early.js", "begin.js"}

// versioned puts the files, except the page and the service worker, into a folder named
// after the hash of all of them.
func (s site) versioned() (site, error) {
	sum := sha256.New()
	for _, name := range slices.Sorted(maps.Keys(s)) {
		fmt.Fprintf(sum, "%s %d\n", name, len(s[name]))
		sum.Write(s[name])
	}
	version := fmt.Sprintf("%x", sum.Sum(nil))[:versionDigits]
	of := struct {
		Version, Later  string
		Bytes           int
		Files           []string
		Scripts, Styles string // of the pages shown in a frame, as a content security policy lists them
		Basics, More    []string
	}{Version: version, Later: version + "/" + later, Bytes: len(s["model.bin"]), Basics: advice.Basics, More: slices.Concat(advice.Handling, advice.Batteries)}
	var err error
	if of.Scripts, of.Styles, err = inline(); err != nil {
		return nil, err
	}
	out := site{}
	for _, name := range slices.Sorted(maps.Keys(s)) {
		if name == "index.html" || name == "service.js" {
			continue
		}
		if name != later {
			of.Files = append(of.Files, version+"/"+name)
		}
		out[version+"/"+name] = s[name]
	}
	for _, name := range []string{"index.html", "service.js"} {
		t, err := template.New(name).Parse(string(s[name]))
		if err != nil {
			return nil, err
		}
		var b bytes.Buffer
		if err := t.Execute(&b, of); err != nil {
			return nil, err
		}
		out[name] = b.Bytes()
	}
	return out, nil
}

// inline returns the hashes of the scripts and style sheets within the pages shown in a frame, as a
// content security policy lists them.
func inline() (scripts, styles string, err error) {
	var pages bytes.Buffer
	if err := errors.Join((&report.Page{Vehicles: []*report.Vehicle{{}}}).Write(&pages), (&plotting.Sheet{}).WriteHTML(&pages)); err != nil {
		return "", "", err
	}
	for _, m := range regexp.MustCompile(`(?s)<(script|style)>(.*?)</`).FindAllSubmatch(pages.Bytes(), -1) {
		sum := sha256.Sum256(m[2])
		hash := " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
		if string(m[1]) == "script" {
			scripts += hash
		} else {
			styles += hash
		}
	}
	return scripts, styles, nil
}

// later is the file of the larger model, which also makes pages. It is fetched after model.bin.
const later = "pages.bin"

// model builds the calls, with a build tag, as WebAssembly compressed with gzip. The page decompresses
// it, so that the host need not announce the compression.
func model(tag string) ([]byte, error) {
	folder, err := os.MkdirTemp("", "sagline-site-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	out := filepath.Join(folder, "model.wasm")
	c := exec.Command("go", "build", "-trimpath", "-tags", tag, "-ldflags", "-s -w", "-o", out, "sagline/cmd/site/wasm")
	c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if said, err := c.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("the model cannot be built, want Go and the sources at hand: %w\n%s", err, said)
	}
	wasm, err := os.ReadFile(out)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer // writing to it does not fail
	w, _ := gzip.NewWriterLevel(&b, gzip.BestCompression)
	_, _ = w.Write(wasm)
	_ = w.Close()
	return b.Bytes(), nil
}

// wasmExec returns the Go distribution's script that runs its WebAssembly.
func wasmExec() ([]byte, error) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	return os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
}

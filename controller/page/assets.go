package page

import (
	"crypto/sha256"
	"embed"
	_ "embed"
	"fmt"
	"html/template"
	"net/http"
)

//go:embed asset
var files embed.FS

// templates is parsed once; a fault in it is a programmer's and shows at once.
var templates = template.Must(template.ParseFS(files, "asset/*.html"))

// asset is one file that a page loads from its own host.
type asset struct {
	name, kind, tag string
	body            []byte
}

type assets []*asset

func loadAssets() (all assets) {
	for _, a := range [...]struct{ name, kind string }{
		{"style.css", "text/css; charset=utf-8"},
		{"live.js", "text/javascript; charset=utf-8"},
		{"icon.svg", "image/svg+xml"},
	} {
		body, err := files.ReadFile("asset/" + a.name)
		if err != nil {
			panic(err) // it is embedded
		}
		all = append(all, &asset{a.name, a.kind, fmt.Sprintf(`"%x"`, sha256.Sum256(body))[:18] + `"`, body})
	}
	return all
}

// serve answers with the file, or that the browser has it already: by its content, so that a new
// version of the program is seen at once.
func (a *asset) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Cache-Control", "no-cache")
	h.Set("ETag", a.tag)
	if r.Header.Get("If-None-Match") == a.tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", a.kind)
	_, _ = w.Write(a.body) // whoever asked has gone
}

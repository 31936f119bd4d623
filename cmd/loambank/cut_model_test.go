package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// hexed writes the strings of a trace as strace -xx does.
func hexed(trace string) string {
	parts := strings.Split(trace, `"`)
	for i := 1; i < len(parts); i += 2 {
		var b strings.Builder
		for _, c := range []byte(parts[i]) {
			fmt.Fprintf(&b, `\x%02x`, c)
		}
		parts[i] = b.String()
	}
	return strings.Join(parts, `"`)
}

// TestWhatAPowerCutLeaves cuts the power after some calls: once with all lost that may be lost, once
// with none. Before them stands /s with a file "old" that holds "o".
func TestWhatAPowerCutLeaves(t *testing.T) {
	const made = `1 openat(AT_FDCWD, "/s/new", O_RDWR|O_CREAT, 0640) = 3
`
	for _, tt := range []struct {
		name, calls string
		lost, kept  string // by name: what it holds
	}{
		{"nothing happens", "", "old=o", "old=o"},
		{"a file is made, nothing is synced", made + `1 write(3, "ab", 2) = 2`, "old=o", "new=ab old=o"},
		{"its content is synced, its name is not", made + `1 write(3, "ab", 2) = 2
1 fsync(3) = 0`, "old=o", "new=ab old=o"},
		{"its name is synced, its content is not", made + `1 write(3, "ab", 2) = 2
1 openat(AT_FDCWD, "/s", O_RDONLY|O_DIRECTORY) = 4
1 fsync(4) = 0`, "new= old=o", "new=ab old=o"},
		{"both are", made + `1 write(3, "ab", 2) = 2
1 fdatasync(3) = 0
1 openat(AT_FDCWD, "/s", O_RDONLY|O_DIRECTORY) = 4
1 fsync(4) = 0
1 pwrite64(3, "x", 1, 1) = 1`, "new=ab old=o", "new=ax old=o"},
		{"a sync that does not come back keeps nothing", `1 openat(AT_FDCWD, "/s/old", O_RDWR) = 3
1 write(3, "ab", 2) = 2
1 fsync(3 <unfinished ...>`, "old=o", "old=ab"},
		{"a sync keeps what came before it began", `1 openat(AT_FDCWD, "/s/old", O_RDWR) = 3
1 write(3, "a", 1) = 1
1 fsync(3 <unfinished ...>
2 write(3, "b", 1) = 1
1 <... fsync resumed>) = 0`, "old=a", "old=ab"},
		{"a rename over a file is the one or the other", made + `1 write(3, "ab", 2) = 2
1 fsync(3) = 0
1 renameat(AT_FDCWD, "/s/new", AT_FDCWD, "/s/old") = 0`, "old=o", "old=ab"},
		{"a link is a name more", `1 linkat(AT_FDCWD, "/s/old", AT_FDCWD, "/s/new", 0) = 0`, "old=o", "new=o old=o"},
		{"a file goes", `1 unlink("/s/old") = 0`, "old=o", ""},
		{"a file is cut short", `1 open("/s/old", O_RDWR) = 3
1 ftruncate(3, 0) = 0`, "old=o", "old="},
		{"a call that fails does nothing", `1 unlink("/s/old") = -1 EPERM (Operation not permitted)`, "old=o", "old=o"},
		{"a number is another file once it was closed", made + `1 close(3) = 0
1 openat(AT_FDCWD, "/elsewhere", O_RDWR) = 3
1 write(3, "ab", 2) = 2`, "old=o", "new= old=o"},
		{"a short write writes what it says", `1 openat(AT_FDCWD, "/s/old", O_RDWR) = 3
1 pwrite64(3, "abc", 3, 0) = 2`, "old=o", "old=ab"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "trace")
			if err := os.WriteFile(file, []byte(hexed(tt.calls)), 0o600); err != nil {
				t.Fatal(err)
			}
			d := newDisk(t, "/s", map[string][]byte{"/s": nil, "/s/old": []byte("o")})
			d.play(events(t, file), func() {})
			for f, want := range map[fate]string{{}: tt.lost, {data: 1, names: 1}: tt.kept} {
				got := map[string]string{}
				for path, text := range d.left(rand.New(rand.NewPCG(1, 1)), f) {
					if path != "/s" {
						got[filepath.Base(path)] = string(text)
					}
				}
				wants := map[string]string{}
				for pair := range strings.FieldsSeq(want) {
					name, text, _ := strings.Cut(pair, "=")
					wants[name] = text
				}
				if diff := cmp.Diff(wants, got); diff != "" {
					t.Errorf("%+v (-want +got):\n%s", f, diff)
				}
			}
		})
	}
}

// TestSectorsAreTornOneByOne wants of a long write that was not synced some sectors and not others.
func TestSectorsAreTornOneByOne(t *testing.T) {
	f := &inode{kept: []byte(strings.Repeat("o", 4*sector))}
	done := true
	f.unsynced = []written{{at: 100, data: []byte(strings.Repeat("n", 3*sector)), done: &done}}
	seen := map[string]bool{}
	chance := rand.New(rand.NewPCG(20, 26))
	for range 200 {
		left := f.torn(chance, 0.5)
		of := ""
		for _, at := range []int{99, 100, sector - 1, sector, 2 * sector, 3*sector + 99, 3*sector + 100} {
			of += string(left[at])
		}
		if of[0] != 'o' || of[1] != of[2] || of[6] != 'o' {
			t.Fatalf("its sectors are left as %s", of)
		}
		seen[of] = true
	}
	if len(seen) != 16 { // four sectors, each of the old or the new
		t.Errorf("%d ways of tearing were seen, want 16", len(seen))
	}
}

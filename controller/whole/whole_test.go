package whole_test

import (
	"os"
	"path/filepath"
	"testing"

	"loambank/controller/whole"
)

// TestAFileIsWrittenOverWhatAnEndLeft writes where an earlier end left its file on the way, in a folder
// and under a name that a pattern would take for something else.
func TestAFileIsWrittenOverWhatAnEndLeft(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "farm [1]", "state")
	if err := whole.MakeDir(dir); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "lower [*]@1.json")
	for name, text := range map[string]string{".lower [*]@1.json123": "half", ".other": "stays", "lower [*]@1.json": "old"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := whole.Write(path, []byte("new")); err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		got[e.Name()] = string(text)
	}
	if len(got) != 2 || got["lower [*]@1.json"] != "new" || got[".other"] != "stays" {
		t.Errorf("the folder holds %q", got)
	}
}

func TestAFolderThatIsNotThereIsAnError(t *testing.T) {
	if err := whole.Write(filepath.Join(t.TempDir(), "gone", "file"), nil); !os.IsNotExist(err) {
		t.Errorf("writing into a folder that is not there: %v", err)
	}
}

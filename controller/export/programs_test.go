package export_test

import (
	"os"
	"os/exec"
	"testing"
)

// program finds a program that a test runs. Where it is missing the test is skipped, or, with
// LOAMBANK_TEST_PROGRAMS=require, fails.
func program(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("LOAMBANK_TEST_PROGRAMS") == "require" {
		t.Fatalf("%s is missing; install it, or leave LOAMBANK_TEST_PROGRAMS unset to skip what needs it", name)
	}
	t.Skipf("%s is missing; install it to run this test", name)
	return ""
}

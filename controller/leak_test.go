package controller

import (
	"testing"

	"go.uber.org/goleak"
)

// TestMain wants every goroutine gone once the tests are through.
func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

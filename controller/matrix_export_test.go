package controller_test

import (
	"testing"

	"loambank/controller"
	"loambank/controller/export"
)

// TestFaultMatrix is here because the exposition imports the controller.
func TestFaultMatrix(t *testing.T) { controller.FaultMatrix(t, export.Handler) }

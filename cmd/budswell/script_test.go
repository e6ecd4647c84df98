package main

import (
	"flag"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what scripts compare with anew")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"budswell": main})
}

// TestScripts runs the command as a person would; testdata holds a script for
// each topic.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "testdata",
		UpdateScripts: *update,
		Setup: func(env *testscript.Env) error {
			root, err := os.Getwd()
			env.Setenv("ROOT", root+"/../..")
			return err
		},
	})
}

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"

	sample "budswell/data-sample"
)

const (
	deployReadme = "deploy/README.md"
	settingsHead = "<!-- settings: written by go test ./cmd/budswell -run TestSettingsTable -update -->\n"
	settingsFoot = "<!-- end of settings -->\n"
)

// TestSettingsTable compares the table of settings with the flags of serve.
func TestSettingsTable(t *testing.T) {
	var cli commands
	parser, err := kong.New(&cli, kong.DefaultEnvars("BUDSWELL"), kong.TypeMapper(dateType, kong.MapperFunc(decodeDate)))
	if err != nil {
		t.Fatal(err)
	}
	var table strings.Builder
	table.WriteString("| variable | flag | default | meaning |\n|---|---|---|---|\n")
	rows := 0
	for _, command := range parser.Model.Children {
		if command.Name != "serve" {
			continue
		}
		for _, f := range command.Flags {
			if f.Name == "help" {
				continue
			}
			fmt.Fprintf(&table, "| `%s` | `--%s` | %s | %s |\n", strings.Join(f.Envs, "`, `"), f.Name, code(f.Default), strings.ReplaceAll(f.Help, "|", `\|`))
			rows++
		}
	}
	if rows < 10 {
		t.Fatalf("serve has %d flags?", rows)
	}
	text, err := os.ReadFile(deployReadme)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := bytes.Cut(text, []byte(settingsHead))
	_, foot, ok2 := bytes.Cut(rest, []byte(settingsFoot))
	if !ok || !ok2 {
		t.Fatalf("%s lacks the marks of the table", deployReadme)
	}
	want := string(head) + settingsHead + table.String() + settingsFoot + string(foot)
	if *update {
		writeFile(t, deployReadme, want)
		return
	}
	if string(text) != want {
		t.Errorf("%s is not of these flags: run with -update\n%s", deployReadme, &table)
	}
}

func code(s string) string {
	if s == "" {
		return ""
	}
	return "`" + s + "`"
}

// TestStepsAsWritten types what the guide says of backup, upgrade and restore, in its
// order, without the lines that need a machine of their own.
func TestStepsAsWritten(t *testing.T) {
	text, err := os.ReadFile(deployReadme)
	if err != nil {
		t.Fatal(err)
	}
	_, section, ok := strings.Cut(string(text), "## Backup, upgrade, restore\n")
	section, _, ok2 := strings.Cut(section, "\n## ")
	if !ok || !ok2 {
		t.Fatal("the guide lacks the section")
	}
	dir := t.TempDir()
	plan, err := filepath.Abs("../../data-sample/" + sample.Plan)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	t.Setenv("BUDSWELL_DB", "sqlite:"+filepath.Join(dir, "budswell.db"))
	run := func(args ...string) string {
		t.Helper()
		p, stdout, stderr := testProgram(time.Date(2027, 1, 12, 8, 0, 0, 0, time.UTC))
		if status := p.run(t.Context(), args); status != done {
			t.Fatalf("budswell %s: status %d: %s", strings.Join(args, " "), status, stderr)
		}
		return stdout.String()
	}
	run("import", plan, "--grower", "sample")
	before := run("export", "-")
	typed := 0
	for line := range strings.Lines(section) {
		command, ok := strings.CutPrefix(strings.TrimRight(line, "\n"), "    budswell ")
		if !ok {
			continue
		}
		args := strings.Fields(strings.ReplaceAll(command, "/var/lib/budswell/", dir+"/"))
		if args[0] == "restore" {
			run("grower", "delete", "sample", "--yes") // the loss
		}
		run(args...)
		typed++
	}
	if typed != 4 {
		t.Errorf("%d commands were typed, want 4", typed)
	}
	if after := run("export", "-"); after != before {
		t.Error("after the restore it is not what it was")
	}
	if second := run("export", "-", "--db", "sqlite:"+dir+"/second.db"); second != before {
		t.Error("the second instance does not hold the same")
	}
}

// TestUnit lets systemd look at the unit, where it is installed.
func TestUnit(t *testing.T) {
	tool, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("systemd-analyze is not installed; it comes with systemd")
	}
	unit, err := os.ReadFile("deploy/budswell.service")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	program := filepath.Join(dir, "budswell")
	writeFile(t, program, "#!/bin/sh\n")
	if err := os.Chmod(program, 0o700); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "budswell.service")
	writeFile(t, path, strings.ReplaceAll(string(unit), "/usr/local/bin/budswell", program))
	out, err := exec.CommandContext(t.Context(), tool, "verify", path).CombinedOutput()
	if err != nil || len(out) > 0 {
		t.Errorf("verify: %v\n%s", err, out)
	}
	// Threshold 20 is an exposure of 2.0 of 10.
	out, err = exec.CommandContext(t.Context(), tool, "security", "--offline=yes", "--threshold=20", path).CombinedOutput()
	if err != nil {
		t.Errorf("security: %v\n%s", err, out)
	}
}

package ics

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"budswell/climate"
)

// taskText wraps the lines of a task.
func taskText(lines ...string) []byte {
	all := append([]string{"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//x//y//EN", "BEGIN:VTODO", "UID:a@budswell"}, lines...)
	return []byte(strings.Join(append(all, "END:VTODO", "END:VCALENDAR", ""), "\r\n"))
}

func TestReadTask(t *testing.T) {
	none := climate.NoDate
	for name, row := range map[string]struct {
		text []byte
		want Edit
	}{
		"bare": {taskText(), Edit{UID: "a@budswell", Start: none, Due: none, On: none}},
		"ours": {
			taskText("SUMMARY:Repot\\, gently: ridge maple", "DTSTART;VALUE=DATE:20270309", "DUE;VALUE=DATE:20270328", "STATUS:NEEDS-ACTION", "PERCENT-COMPLETE:0"),
			Edit{UID: "a@budswell", Summary: "Repot, gently: ridge maple", Start: d(3, 9), Due: d(3, 28), On: none},
		},
		"done": {
			taskText("STATUS:COMPLETED", "COMPLETED:20270310T201500Z", "PERCENT-COMPLETE:100"),
			Edit{UID: "a@budswell", Start: none, Due: none, On: none, Completed: true, At: time.Date(2027, 3, 10, 20, 15, 0, 0, time.UTC)},
		},
		"done by percentage": {taskText("PERCENT-COMPLETE:100", "STATUS:IN-PROCESS"), Edit{UID: "a@budswell", Start: none, Due: none, On: none, Completed: true}},
		"done by day":        {taskText("COMPLETED;VALUE=DATE:20270310"), Edit{UID: "a@budswell", Start: none, Due: none, On: d(3, 10), Completed: true}},
		"done by local time": {taskText("COMPLETED;TZID=Europe/Berlin:20270310T235959"), Edit{UID: "a@budswell", Start: none, Due: none, On: d(3, 10), Completed: true}},
		"given up":           {taskText("STATUS:CANCELLED"), Edit{UID: "a@budswell", Start: none, Due: none, On: none, Cancelled: true}},
		"with an alarm": {
			taskText("BEGIN:VALARM", "ACTION:DISPLAY", "SUMMARY:not this", "TRIGGER:-PT1H", "END:VALARM", "X-MORE;A=\"b:c\":d", "SUMMARY:folded", "  here"),
			Edit{UID: "a@budswell", Summary: "folded here", Start: none, Due: none, On: none},
		},
		"other line ends": {
			[]byte(strings.ReplaceAll(string(taskText("SUMMARY:x")), "\r\n", "\n")),
			Edit{UID: "a@budswell", Summary: "x", Start: none, Due: none, On: none},
		},
	} {
		got, err := ReadTask(row.text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if diff := cmp.Diff(&row.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

func TestReadTaskReadsWhatWeWrite(t *testing.T) {
	for _, e := range tasks().Entries {
		b, err := Object(&e, firstRevisions(tasks())[e.UID])
		if err != nil {
			t.Fatal(err)
		}
		got, err := ReadTask(b)
		if err != nil {
			t.Fatal(err)
		}
		if got.UID != e.UID || got.Summary != e.Summary || got.Due != e.Last || got.Completed != e.Done {
			t.Errorf("%+v read of %+v", got, e)
		}
	}
}

func TestReadTaskRefuses(t *testing.T) {
	whole := string(taskText("SUMMARY:x"))
	for name, row := range map[string]struct{ text, says string }{
		"nothing":           {"", "octets"},
		"too long":          {string(taskText("DESCRIPTION:" + strings.Repeat("x", LongestObject))), "octets"},
		"not UTF-8":         {string(taskText("SUMMARY:\xff")), "UTF-8"},
		"zero byte":         {string(taskText("SUMMARY:\x00")), "control character"},
		"byte order mark":   {"\uFEFF" + whole, "control character"},
		"bare CR":           {string(taskText("SUMMARY:a\rb")), "NAME:VALUE"},
		"cut off":           {whole[:len(whole)-16], "the end"},
		"more after it":     {whole + "X:y\r\n", "one VCALENDAR"},
		"two calendars":     {whole + whole, "one VCALENDAR"},
		"event":             {strings.ReplaceAll(whole, "VTODO", "VEVENT"), "VTODO and nothing else"},
		"no task":           {"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n", "0 tasks"},
		"two tasks":         {strings.Replace(whole, "END:VCALENDAR", "BEGIN:VTODO\r\nUID:b\r\nEND:VTODO\r\nEND:VCALENDAR", 1), "2 tasks"},
		"crossed":           {string(taskText("BEGIN:VALARM", "END:VTODO")), "want END:VALARM"},
		"deep":              {string(taskText("BEGIN:VALARM", "BEGIN:X", "END:X", "END:VALARM")), "BEGIN:X"},
		"no calendar":       {"BEGIN:VTODO\r\nEND:VTODO\r\n", "VCALENDAR"},
		"web page":          {"<html>\r\n", "NAME:VALUE"},
		"no UID":            {strings.Replace(whole, "UID:a@budswell\r\n", "", 1), "UID"},
		"two summaries":     {string(taskText("SUMMARY:a", "SUMMARY:b")), "SUMMARY: want it once"},
		"recurs":            {string(taskText("RRULE:FREQ=DAILY")), "does not recur"},
		"no such day":       {string(taskText("DUE;VALUE=DATE:20270230")), "a day that exists"},
		"no such status":    {string(taskText("STATUS:SOON")), "STATUS"},
		"no such share":     {string(taskText("PERCENT-COMPLETE:101")), "0 to 100"},
		"completed garbage": {string(taskText("COMPLETED:yesterday")), "a day that exists"},
	} {
		if e, err := ReadTask([]byte(row.text)); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: read as %+v, %v; want an error that says %q", name, e, err, row.says)
		}
	}
}

func FuzzReadTask(f *testing.F) {
	f.Add(taskText("SUMMARY:x", "DUE;VALUE=DATE:20270328", "STATUS:COMPLETED", "COMPLETED:20270310T201500Z", "PERCENT-COMPLETE:100"))
	f.Add(taskText("BEGIN:VALARM", "TRIGGER;RELATED=END:-PT1H", "END:VALARM", "X-A;B=\"c;d:e\":f\\n\\,\\;"))
	f.Add([]byte("BEGIN:VCALENDAR\nBEGIN:VTIMEZONE\nTZID:x\nBEGIN:STANDARD\nEND:STANDARD\nEND:VTIMEZONE\nBEGIN:VTODO\nUID;:a\nEND:VTODO\nEND:VCALENDAR"))
	f.Fuzz(func(t *testing.T, text []byte) {
		e, err := ReadTask(text)
		if err != nil {
			if e != nil {
				t.Errorf("an error and a task: %+v", e)
			}
			return
		}
		told := !e.At.IsZero() || e.On.Valid()
		if e.UID == "" || told && !e.Completed || !e.At.IsZero() && e.On.Valid() || len(text) > LongestObject {
			t.Errorf("taken: %+v", e)
		}
	})
}

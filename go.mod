module budswell

go 1.26

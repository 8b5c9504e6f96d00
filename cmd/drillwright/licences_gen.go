//go:build ignore

// It writes licences.txt: the licences, notices and patent grants, whole, of the modules that are linked into the program on any
// system that it is built for, and of Go itself. What says the same stands once.
package main

import (
	"bytes"
	"fmt"
	"log"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

var named = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([.-].*)?$`)

func main() {
	log.SetFlags(0)
	if _, err := os.Stat("licences.txt"); err != nil { // the package embeds it, and is asked what it imports
		if err := os.WriteFile("licences.txt", nil, 0o644); err != nil {
			log.Fatal(err)
		}
	}
	texts := map[string][]string{} // who it is of, by text
	var modules []string
	add := func(module, root string, folders []string) {
		found := false
		for _, folder := range folders {
			entries, err := os.ReadDir(folder)
			if err != nil {
				log.Fatal(err)
			}
			for _, entry := range entries {
				if entry.IsDir() || !named.MatchString(entry.Name()) || filepath.Ext(entry.Name()) == ".go" {
					continue
				}
				text, err := os.ReadFile(filepath.Join(folder, entry.Name()))
				if err != nil {
					log.Fatal(err)
				}
				inside, err := filepath.Rel(root, filepath.Join(folder, entry.Name()))
				if err != nil {
					log.Fatal(err)
				}
				found = true
				whole := strings.Trim(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n")
				texts[whole] = append(texts[whole], module+": "+filepath.ToSlash(inside))
			}
		}
		if !found {
			log.Fatalf("%s says no licence", module)
		}
		modules = append(modules, module)
	}
	for module, folders := range linked() {
		add(module, folders[0], folders) // the shortest path stands first
	}
	goRoot := strings.TrimSpace(string(output("go", "env", "GOROOT")))
	add("Go", goRoot, []string{goRoot})
	slices.Sort(modules)

	var out bytes.Buffer
	fmt.Fprintf(&out, "What is linked into drillwright, and below it the licences whole.\n\n")
	for _, m := range modules {
		fmt.Fprintf(&out, "  %s\n", m)
	}
	of := map[string]string{}
	for text, whose := range texts {
		slices.Sort(whose)
		of[strings.Join(whose, "\n")] = text
	}
	for _, whose := range slices.Sorted(maps.Keys(of)) {
		fmt.Fprintf(&out, "\n%s\n%s\n\n%s\n", strings.Repeat("=", 100), whose, of[whose])
	}
	if err := os.WriteFile("licences.txt", out.Bytes(), 0o644); err != nil {
		log.Fatal(err)
	}
}

// linked are the modules of the program with their folders: that of each, and those of the packages that are used with all between.
func linked() map[string][]string {
	modules := map[string][]string{}
	for _, system := range []string{"linux/amd64", "linux/arm64", "darwin/arm64", "windows/amd64"} {
		goos, goarch, _ := strings.Cut(system, "/")
		list := exec.Command("go", "list", "-deps", "-f",
			"{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}\t{{$.Dir}}{{end}}{{end}}", ".")
		list.Env = append(os.Environ(), "GOOS="+goos, "GOARCH="+goarch, "CGO_ENABLED=0")
		list.Stderr = os.Stderr
		lines, err := list.Output()
		if err != nil {
			log.Fatal(err)
		}
		for line := range strings.Lines(string(lines)) {
			parts := strings.Split(strings.TrimSpace(line), "\t")
			if len(parts) != 3 {
				continue
			}
			for folder := parts[2]; ; folder = filepath.Dir(folder) {
				if !slices.Contains(modules[parts[0]], folder) {
					modules[parts[0]] = append(modules[parts[0]], folder)
				}
				if folder == parts[1] {
					break
				}
			}
		}
	}
	for _, folders := range modules {
		slices.Sort(folders)
	}
	return modules
}

func output(name string, args ...string) []byte {
	text, err := exec.Command(name, args...).Output()
	if err != nil {
		log.Fatal(err)
	}
	return text
}

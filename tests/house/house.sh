#!/bin/sh
# The house holds itself: house.sh CHECK TREE BUILD prints every fault that CHECK finds and then fails.
# twin.sh plants a fault for each check and wants it found.
set -u
check=$1
tree=$2
build=$3
cd "$tree" || exit 2
longest_allowed=80

sources() {
    find "$@" -name '*.[ch]' | sort
}

# The one arrow: render -> scenes -> raytrace.
check_arrow() {
    grep -nE '#include.*(scenes/|render/|yaml|png|tiff|jansson|cairo|pango|popt)' $(sources raytrace)
    grep -nE '#include.*(render/|png|tiff|jansson|cairo|pango|popt)' $(sources scenes)
    # scenes/ and render/ see the library through its public header alone.
    grep -nE '#include +"(raytrace/|(numbers|emitters|lenses|placement|tracing|maps)/)' $(sources scenes render)
}

# raytrace/ never prints, never exits, opens no file: in its text and in what its object code calls.
check_quiet() {
    verbs='(v?f?printf|puts|putchar|fputs|fputc|putc|fwrite|perror|exit|_exit|_Exit|quick_exit|abort|assert|__assert_fail|fopen|open|write|signal|raise|kill)'
    grep -nE "(^|[^A-Za-z0-9_])$verbs *\(" $(sources raytrace) | grep -vE '_Static_assert|format\(printf'
    nm -A -u "$build/libluxfall.a" | grep -E " U (__)?$verbs(_chk)?(@.*)?\$"
}

# raytrace/ has no mutable globals: no object of its code lies in a section that is written to while it runs.
# (.data.rel.ro holds constant tables of pointers, which the loader alone fills in.)
check_globals() {
    objdump -t "$build/libluxfall.a" |
        awk '/file format/ { file = $1 } / O / && (/[ \t]\.t?(data|bss)[. \t]/ || /\*COM\*/) && !/\.data\.rel\.ro/ { print file " " $NF }'
}

# What belongs to the project at the top: in a checkout what is tracked, since people make folders of their own there.
top_entries() {
    if [ -e .git ]; then
        git -c 'safe.directory=*' ls-files | cut -d/ -f1 | grep -v '^\.' | sort -u
    else
        ls
    fi
}

# Nothing else at the top than the rooms and the four files.
check_top() {
    for entry in $(top_entries); do
        case $entry in
        README.md | DEVELOPERS.md | LICENSE | CMakeLists.txt | raytrace | scenes | render | tests | gallery | build*) ;;
        *) echo "$entry: does not belong at the top" ;;
        esac
    done
    for entry in README.md DEVELOPERS.md LICENSE CMakeLists.txt raytrace/METHODS.md gallery/README.md; do
        [ -f "$entry" ] || echo "$entry: missing"
    done
}

# No paths of one machine and no open ends. The patterns are spelled so that they do not find themselves.
check_words() {
    grep -rnE '/(wor[k]|hom[e]|roo[t]|User[s])/|TOD[O]|FIXM[E]|\bXX[X]\b|HAC[K]|for no[w]\b|placeholde[r]|not ye[t] implemented' \
        --include='*.[ch]' --include='*.md' --include='*.sh' --include='*.txt' --include='*.in' --include='*.yaml' \
        README.md DEVELOPERS.md CMakeLists.txt raytrace scenes render tests gallery .ci 2>/dev/null
}

# Published checks (test_light*, test_optics*, test_numbers*, test_colour*) come in families, one a section of the file
# ("---- name"). A family with values of six digits and more tells in one of its comments where they come from: a work with its year
# or section, a definition, or one of the words below. A file without sections is one family. A number is a year where it is written
# as one: "Walsh 1926: ...", "Title", 2005, ch. 2", "Opt. 54, 139 (2015)", "7th ed. 1999", "ISO 7944:1998"; "of 2000 rays" names no work.
published_checks() {
    find tests -name 'test_light*.c' -o -name 'test_optics*.c' -o -name 'test_numbers*.c' -o -name 'test_colour*.c' | sort
}

check_sources() {
    [ -n "$(published_checks)" ] || echo "tests: no published checks"
    for file in $(published_checks); do
        awk -v file="$file" '
            function has_year() {
                year = "(1[6-9]|20)[0-9][0-9]"
                before = "( ed\\.,? |[A-Z][A-Za-z]+[a-zA-Z] |[A-Za-z.\")], |[^0-9][0-9][0-9]?[0-9]?, )"
                return words ~ before year "([,;:)]|\\. | \\(| *$)" || words ~ "[0-9\"] \\(" year "\\)" || words ~ "[0-9]:" year "[^0-9]"
            }
            function family_ends() {
                if (values && !has_year() && words !~ /\(derived|\(memory|no source|[Dd]efinition|[Ss]ec\. |[Tt]able [0-9]/)
                    print file ":" line ": " name ": values without a source"
                words = ""; values = 0; name = $0; line = FNR
            }
            BEGIN                     { name = "the file"; line = 1 }
            /\/\* ---- /              { family_ends() }
            /^ *\/\*/                 { inside = 1 }
            inside                    { text = $0; gsub(/^ *\/?\*+( |$)|\*\/.*/, "", text); words = words " " text }
            /\*\//                    { inside = 0 }
            !inside && /[0-9]\.?[0-9][0-9][0-9][0-9][0-9]/ && !/[0-9]e[0-9]/ { values++ }
            END                       { family_ends() }
        ' "$file"
    done
}

# Every test file is a test that CTest runs.
check_registered() {
    listed=$(cat "$build/tests/CTestTestfile.cmake")
    for file in $(find tests -name 'test_*.c'); do
        name=$(basename "$file" .c)
        echo "$listed" | grep -qF "add_test([=[$name]=] " ||
            echo "$file: CTest does not run it (a test stands at tests/FOLDER/test_*.c)"
    done
}

# Lengths of functions: "lines file:line name" of each, longest first. A body ends with a brace in the first column.
function_lengths() {
    awk '
        FNR == 1                        { open = 0 }
        /^[A-Za-z_].*[^;]$/ && !open    { start = FNR; head = $0 }
        /^[^ \t#\/].*\) *\{$|^ .*\) *\{$/ && !open && start && head ~ /\(/ && head !~ /=/ { open = 1 }
        /^}/ && open {
            name = head; sub(/\(.*/, "", name); sub(/.*[ *]/, "", name)
            print FNR - start + 1, FILENAME ":" start, name; open = 0; start = 0
        }
    ' $(sources raytrace scenes render tests) | sort -rn
}

check_functions() {
    function_lengths | awk -v most="$longest_allowed" '$1 > most { print $2 ": " $3 " has " $1 " lines" }'
}

# Enumerators: enumerators HEADER ENUMS PREFIX, the names of the enums as a pattern.
enumerators() {
    awk -v enums="^enum $2 " -v name="$3_[A-Z_]+" '$0 ~ enums { inside = 1 }
         inside { line = $0; while (match(line, name)) { print substr(line, RSTART, RLENGTH); line = substr(line, RSTART + RLENGTH) } }
         /}/ { inside = 0 }' "$1"
}

# Kinds of what is traced surface by surface: all but the datasheet beam.
kinds_of_optics() {
    enumerators raytrace/luxfall.h 'luxfall_(lens|cover|section)_kind' LUXFALL | grep -vx LUXFALL_LENS_BEAM
    enumerators raytrace/lenses/optic.h 'patch_(kind|deed)' PATCH
}

# A kind is there for everybody or not at all: the library knows it, a scene can name it, a test meets
# it, the random optics are asked for it. And what was written stands in its table: solids, commands, output files.
check_kinds() {
    for kind in $(enumerators raytrace/luxfall.h 'luxfall_(face|intensity|material|lens|cover|placement|aim)_kind' LUXFALL); do
        grep -qw "$kind" $(find raytrace -name '*.c') || echo "$kind: raytrace/ does nothing with it"
        grep -lw "$kind" scenes/*.c | grep -qv writer || echo "$kind: no scene can name it"
        grep -qrw --include='*.[ch]' "$kind" tests || echo "$kind: no test meets it"
    done
    census=$(awk '/^static const struct census all = /, /^};/' tests/properties/test_optics_kinds.c)
    for kind in $(kinds_of_optics); do
        echo "$census" | grep -qw "$kind" || echo "$kind: tests/properties/test_optics_kinds.c does not ask the random optics for it"
    done
    for solid in $(sed -nE 's/^const struct solid_kind (solid_[a-z_]+) = .*/\1/p' raytrace/lenses/*.c); do
        grep -q "&$solid\b" raytrace/lenses/solid.c || echo "$solid: not in the table of raytrace/lenses/solid.c"
    done
    for placement in $(sed -nE 's/^const struct placement_kind (placement_[a-z_]+) = .*/\1/p' raytrace/placement/*.c); do
        grep -q "&$placement\b" raytrace/placement/place.c || echo "$placement: not in the table of raytrace/placement/place.c"
    done
    for law in $(sed -nE 's/^const struct angle_law_kind (angle_law_[a-z_]+) = .*/\1/p' raytrace/emitters/*.c); do
        grep -q "&$law\b" raytrace/emitters/emitter.c || echo "$law: no emitter shines by it"
    done
    for command in $(sed -nE 's/^const struct command (command_[a-z_]+) = .*/\1/p' render/commands/*.c); do
        grep -q "&$command\b" render/commands/commands.c || echo "$command: not in the table of render/commands/commands.c"
    done
    for output in $(sed -nE 's/^int ((file|figure)_[a-z0-9_]+)\(.*/\1/p' render/files/files.h render/figures/figures.h); do
        grep -q "\b$output\b" render/commands/*.c || echo "$output: no command makes this file"
    done
}

# Numbers of the equations that the code cites; "(23)-(29)" is all of them.
cited_equations() {
    grep -rhoE --include='*.[ch]' 'eq\. \([0-9]+\)(-\([0-9]+\)|, \([0-9]+\))*' raytrace |
        sed 's/)-(/-/g' | grep -oE '[0-9]+(-[0-9]+)?' |
        awk -F- '{ for (i = $1; i <= $NF; i++) print i }' | sort -nu
}

# Works that METHODS names in its text: "[BW99, sec. 4.2]" is BW99, "[LK11, Bu20]" both.
works_cited() {
    sed -E '/^## Sources/,$d; s/!\[[^]]*\]//g' raytrace/METHODS.md | grep -oE '\[[A-Za-z][^]]*\]' |
        tr -d '[]' | tr ',' '\n' | sed -E 's/^ *//; /^(sec|ch)\. /d' | sort -u
}

# Every equation that the code cites stands in METHODS, and every one of METHODS is cited by the code that does it. Every work that
# METHODS names stands among its sources.
check_equations() {
    for number in $(cited_equations); do
        grep -q " ($number)\$" raytrace/METHODS.md || echo "raytrace/METHODS.md: no equation ($number), which the code cites"
    done
    cited=" $(cited_equations | tr '\n' ' ')"
    for number in $(sed -nE 's/.* \(([0-9]+)\)$/\1/p' raytrace/METHODS.md); do
        case $cited in
        *" $number "*) ;;
        *) echo "raytrace/METHODS.md: no code cites equation ($number)" ;;
        esac
    done
    works_cited | while read -r work; do
        grep -qF -- "- [$work] " raytrace/METHODS.md || echo "raytrace/METHODS.md: [$work] does not stand among its sources"
    done
}

# Every scene has a picture on the gallery page, every picture there exists.
check_gallery() {
    for scene in scenes/*.yaml; do
        name=$(basename "$scene" .yaml)
        grep -q "]($name[_.-]" gallery/README.md || echo "$scene: gallery/README.md shows no picture of it"
    done
    for picture in $(sed -nE 's/^!\[.*\]\((.*)\)$/\1/p' gallery/README.md); do
        [ -f "gallery/$picture" ] || echo "gallery/README.md: $picture is missing"
    done
}

# The scene that README explains is the one in scenes/, byte for byte.
check_readme() {
    awk '/^```yaml$/ { inside = 1; next } /^```$/ { if (inside) exit } inside' README.md | cmp - scenes/sorting-ring.yaml 2>&1
}

# Words that a scene's optics are described by: those of the tables and lists of keys.
words_of_optics() {
    sed -nE '/_keys\[\] = \{/,/;/p; /^#define COMMON/p; /^ +\{"[^"]+", .*(read_|LUXFALL_COVER)/p' scenes/solids.c scenes/covers.c |
        grep -oE '"[a-z_ -]+"' | tr -d '"' | sort -u
    sed -nE '/known\[\] = \{/p' scenes/assemblies.c scenes/materials.c scenes/packages.c scenes/solids.c | grep -oE '"[a-z_ ]+"' | tr -d '"' | sort -u
}

# The page of optics names every word, and its pieces make a scene without a fault, which comes back from luxfall check.
check_optics() {
    [ "$(words_of_optics | wc -l)" -gt 50 ] || echo "scenes/: the tables of optics are not found"
    words_of_optics | while read -r word; do
        grep -qE "\b$word\b" scenes/OPTICS.md || echo "scenes/OPTICS.md: says nothing of '$word'"
    done
    awk '/^```yaml$/ { inside = 1; next } /^```$/ { inside = 0 } inside' scenes/OPTICS.md >"$build/optics-page.yaml"
    [ -x "$build/luxfall" ] || echo "$build/luxfall: no program to check the page with"
    "$build/luxfall" check "$build/optics-page.yaml" 2>&1 >"$build/optics-back.yaml" | grep 'error:'
    "$build/luxfall" check "$build/optics-back.yaml" 2>/dev/null | cmp -s - "$build/optics-back.yaml" ||
        echo "scenes/writer.c: what luxfall check prints of scenes/OPTICS.md does not come back"
    # What is said otherwise: radii and flat sides as sides, the sheet's lens as its solid.
    words_of_optics | grep -vxE 'radii|flat|beam_angle|listed_die|efficiency' | while read -r word; do
        ! grep -qE "\b$word: " "$build/optics-page.yaml" || grep -qE "\b$word: " "$build/optics-back.yaml" ||
            echo "scenes/writer.c: '$word' of scenes/OPTICS.md is lost in what luxfall check prints"
    done
}

# Lines with every number cut to two digits and without bands: "91.47 klx ±0.0027 %" is "91 klx".
rounded() {
    sed -E 's/ ±[0-9.e-]+( %)?//g' | awk '{
        line = $0; out = ""
        while (match(line, /[0-9]+(\.[0-9]+)?/)) {
            out = out substr(line, 1, RSTART - 1) sprintf("%.2g", substr(line, RSTART, RLENGTH)); line = substr(line, RSTART + RLENGTH)
        }
        line = out line; gsub(/ +/, " ", line); sub(/^ /, "", line); print line
    }'
}

# What README prints as the program's answer is that answer, to two digits.
check_says() {
    said=$("$build/luxfall" trace scenes/sorting-ring.yaml 2>/dev/null | rounded)
    awk '/^The program says/ { inside = 1 } /^- / { inside = 0 } inside && /^    / && !/\.\.\./' README.md | rounded |
        while read -r line; do
            echo "$said" | grep -qxF -- "$line" || echo "README.md: the program does not say '$line'"
        done
    grep -q '^    level 0 mm' README.md || echo "README.md: shows no answer of the program"
}

faults=$(check_"$check")
[ -z "$faults" ] && exit 0
echo "$faults"
exit 1

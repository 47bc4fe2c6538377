#!/bin/sh
# Installs linewalk from the folder this script is in: for everybody as root, else for you alone.
# `sh install.sh --remove` takes away what it put there; cars and logs stay.
set -eu
cd "$(dirname "$0")"
if [ "$(id -u)" = 0 ]; then prefix=${PREFIX:-/usr/local}; else prefix=${PREFIX:-$HOME/.local}; fi
doc=$prefix/share/doc/linewalk
if [ "${1:-}" = --remove ]; then
    rm -f "$prefix/bin/linewalk" "$prefix/share/man/man1/linewalk.1"
    rm -f "$prefix/share/bash-completion/completions/linewalk" "$prefix/share/zsh/site-functions/_linewalk"
    rm -f "$prefix/share/fish/vendor_completions.d/linewalk.fish"
    rm -rf "$doc"
    echo "linewalk is removed; your cars and logs stay."
    exit 0
fi
mkdir -p "$prefix/bin" "$prefix/share/man/man1" "$prefix/share/bash-completion/completions" \
    "$prefix/share/zsh/site-functions" "$prefix/share/fish/vendor_completions.d" "$doc"
cp linewalk "$prefix/bin/linewalk"
cp linewalk.1 "$prefix/share/man/man1/"
cp linewalk.bash "$prefix/share/bash-completion/completions/linewalk"
cp _linewalk "$prefix/share/zsh/site-functions/"
cp linewalk.fish "$prefix/share/fish/vendor_completions.d/"
cp -r README.md LICENSE licenses.txt sample-cars rulesets "$doc/"
echo "linewalk is in $prefix/bin; begin with: linewalk walk $doc/sample-cars/heron.toml"

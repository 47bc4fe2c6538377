"""What an editor shows: a TOML language server is given our schemas, and each shipped and each broken file is opened in it.

Usage: editor.py FOLDER_OF_SCHEMAS TOMBI. The server is `tombi` of PyPI; it is spoken to as an editor does, by the Language Server Protocol over standard input and output."""

import glob
import json
import os
import pathlib
import subprocess
import sys


class Server:
    """A language server, and what it said so far."""

    def __init__(self, program, folder):
        command = [program, "lsp", "--offline"]
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=folder
        )
        self.last = 0

    def send(self, message):
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self.process.stdin.flush()

    def receive(self):
        length = 0
        while line := self.process.stdout.readline().strip():
            name, _, value = line.partition(b":")
            if name.lower() == b"content-length":
                length = int(value)
        if not length:
            sys.exit("editor: the language server went away")
        return json.loads(self.process.stdout.read(length))

    def until(self, wanted):
        """Reads until a message is the wanted one, and answers what the server asks meanwhile."""
        while True:
            message = self.receive()
            if wanted(message):
                return message
            if "id" in message and "method" in message:
                asked = message.get("params") or {}
                items = asked.get("items") if isinstance(asked, dict) else None
                self.send({"id": message["id"], "result": [None for _ in items] if items else None})

    def ask(self, method, params):
        self.last += 1
        mine = self.last
        self.send({"id": mine, "method": method, "params": params})
        return self.until(lambda message: message.get("id") == mine and "method" not in message).get("result")

    def open(self, text):
        """The errors of a text. Each has a name of its own, so that no answer is taken for another's."""
        self.last += 1
        uri = pathlib.Path(f"/editor/{self.last}.toml").as_uri()
        document = {"uri": uri, "languageId": "toml", "version": 1, "text": text}
        self.send({"method": "textDocument/didOpen", "params": {"textDocument": document}})

        def told(message):
            return message.get("method") == "textDocument/publishDiagnostics" and message["params"]["uri"] == uri

        return uri, self.until(told)["params"]["diagnostics"]


schemas, program = sys.argv[1:3]
server = Server(program, schemas)
server.ask("initialize", {"processId": None, "rootUri": None, "capabilities": {}})
server.send({"method": "initialized", "params": {}})


def opened(path, name, text=None):
    """A file as its writer opens it, with the line that names its schema."""
    if text is None:
        with open(path, encoding="utf-8-sig") as file:
            text = file.read()
    schema = pathlib.Path(schemas, name + ".json").resolve().as_uri()
    return server.open(f"#:schema {schema}\n{text}")


wrong = 0


def expect(holds, *words):
    global wrong
    if not holds:
        print(*words)
        wrong += 1


good = 0
for name, pattern in (("car", "sample-cars/*.toml"), ("rules", "rulesets/*.toml")):
    for path in sorted(glob.glob(pattern)):
        if not path.endswith("-answers.toml"):
            _, found = opened(path, name)
            expect(not found, path, [one["message"][:200] for one in found[:3]])
            good += 1

with open("tests/bad/not-by-shape.txt", encoding="utf-8") as file:
    exempt = [line.split(":")[0] for line in file if line.strip() and not line.startswith("#")]
# TOML has numbers that JSON Schema cannot speak of.
exempt.append("rules/not-finite")
refused = 0
for name, folder in (("car", "cars"), ("rules", "rules")):
    for path in sorted(glob.glob(f"tests/bad/{folder}/*.toml")):
        said = path[:-5] + ".txt"
        has_error = os.path.exists(said) and " error: " in open(said, encoding="utf-8").read()
        if has_error and f"{folder}/{os.path.basename(path)[:-5]}" not in exempt:
            _, found = opened(path, name)
            expect(found, path, "nothing is said of it")
            refused += 1

# Help at the cursor: what a key means, and which keys there are.
TEXT = 'format = 1\n[ruleset]\nid = "c"\n[[check]]\nid = "a"\nseverity = "fix"\n'
uri, _ = opened(None, "rules", TEXT)
at = {"textDocument": {"uri": uri}, "position": {"line": 6, "character": 3}}
hover = json.dumps(server.ask("textDocument/hover", at) or "")
expect("stop" in hover, "severity has no help:", hover)
uri, _ = opened(None, "rules", TEXT + "m")
at = {"textDocument": {"uri": uri}, "position": {"line": 7, "character": 1}}
offered = json.dumps(server.ask("textDocument/completion", at) or "")
expect("measure" in offered, "measure is not offered:", offered[:300])

server.process.kill()
print(f"editor: {good} shipped files without a mark, {refused} broken ones marked, {wrong} wrong")
sys.exit(1 if wrong else 0)

"""A browser's part in a talk with the local page, for the scripts that load it and kill it."""

import http.client
import json
import pathlib
import re
import subprocess


class Page:
    def __init__(self, program, file):
        shell = pathlib.Path(__file__).resolve().parents[2] / "src/page/screen/page.html"
        self.process = subprocess.Popen([program, "desk", str(file), "--page", str(shell)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        for line in self.process.stdout:
            found = re.search(r"http://127\.0\.0\.1:(\d+)(/\S*)", line)
            if found:
                break
        self.port = int(found[1])
        entered = self.request("GET", found[2], headers={})
        self.cookie = entered[1]["Set-Cookie"].split(";")[0]
        page = self.request("GET", "/")[2].decode()
        self.secret = re.search(r'name="secret" content="([^"]+)"', page)[1]

    def request(self, method, path, content=None, headers=None, timeout=60):
        """(status, head, body) of one request."""
        if headers is None:
            headers = {"Cookie": self.cookie}
            if content is not None:
                headers |= {"Batchwright-Secret": self.secret, "Origin": f"http://127.0.0.1:{self.port}", "Content-Type": "application/json"}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        try:
            body = content if content is None or isinstance(content, bytes) else json.dumps(content).encode()
            connection.request(method, path, body, headers)
            reply = connection.getresponse()
            return reply.status, reply.headers, reply.read()
        finally:
            connection.close()

    def save(self, text, saved):
        return self.request("POST", "/save", {"text": text, "saved": saved})

    def memory(self):
        """Kilobytes in use."""
        with open(f"/proc/{self.process.pid}/status", encoding="ascii") as status:
            return int(re.search(r"VmRSS:\s+(\d+)", status.read())[1])

    def end(self):
        self.process.kill()
        self.process.wait()

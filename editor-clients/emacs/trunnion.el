;;; trunnion.el --- Trunnion in Emacs, through eglot  -*- lexical-binding: t -*-

;; Load this file from your init file. Eglot is part of Emacs 29; for Emacs 28 install it as a package.

;;; Code:

(require 'eglot)

(add-to-list 'eglot-server-programs '((nxml-mode xml-mode) . ("trunnion" "serve")))

(defun trunnion-ensure ()
  "Start Trunnion if this buffer's file belongs to a mod; other XML is left alone."
  (when (and buffer-file-name
             (or (string-suffix-p ".machine.xml" buffer-file-name)
                 (locate-dominating-file buffer-file-name "trunnion.toml")
                 (locate-dominating-file buffer-file-name "mod.xml")))
    (eglot-ensure)))

(add-hook 'nxml-mode-hook #'trunnion-ensure)

(defun trunnion-preview ()
  "Show this buffer's machine in 3D, as it is here, saved or not; return the page's address.
The server opens a browser if this eglot can be asked for one, else it tells the address."
  (interactive)
  (jsonrpc-request (or (eglot-current-server) (user-error "Trunnion does not serve this buffer"))
                   :workspace/executeCommand
                   (list :command "trunnion.preview"
                         :arguments (vector (list :uri (plist-get (eglot--TextDocumentIdentifier) :uri))))))

(provide 'trunnion)
;;; trunnion.el ends here

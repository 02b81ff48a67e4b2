;;; emacs.el --- A real Emacs with Trunnion in it  -*- lexical-binding: t -*-

;; Run as: emacs -Q --batch -l tests/editors/emacs.el
;; Batch mode has no command loop: what Emacs does between two keys is done here by `emacs-test-wait'.

;;; Code:

(let ((default-directory "/usr/share/emacs/site-lisp/elpa/"))
  (when (file-directory-p default-directory) (normal-top-level-add-subdirs-to-load-path)))
(require 'cl-lib)
(require 'flymake)
(require 'xref)

(defvar emacs-test-failures 0)
(defvar emacs-test-project
  (expand-file-name "../.." (file-name-directory (or load-file-name buffer-file-name))))
(defvar emacs-test-work (file-name-as-directory (make-temp-file "trunnion" t)))

(defun emacs-test-check (what ok &optional seen)
  "Say WHAT was checked and whether it is OK; if not, what was SEEN."
  (princ (if ok (format "ok   %s\n" what) (format "FAIL %s: %S\n" what seen)))
  (unless ok (cl-incf emacs-test-failures)))

(defun emacs-test-wait (look)
  "Let time pass until LOOK gives something, fifteen seconds at most; return that."
  (let ((end (+ (float-time) (if (= emacs-test-failures 0) 15 3))) seen)
    (while (and (not (setq seen (funcall look))) (< (float-time) end))
      (accept-process-output nil 0.05))
    seen))

(defun emacs-test-findings ()
  "The findings that flymake shows in this buffer, as a list of (LINE . TEXT)."
  (when (fboundp 'eglot--signal-textDocument/didChange) (eglot--signal-textDocument/didChange))
  (flymake-start)
  (mapcar (lambda (finding)
            (cons (line-number-at-pos (flymake-diagnostic-beg finding)) (flymake-diagnostic-text finding)))
          (flymake-diagnostics)))

(defun emacs-test-line () "The line at point." (buffer-substring (line-beginning-position) (line-end-position)))

(defun emacs-test-find (text) "Put point right after the first TEXT." (goto-char (point-min)) (search-forward text))

(defun emacs-test-feature (name)
  "Say that NAME works, for the table of editors and features (tests/editors/table.mjs)."
  (when (= emacs-test-failures 0) (princ (format "FEATURE %s\n" name))))

;; The demo, copied, and nothing but the setup that users load.
(copy-directory (expand-file-name "corpus/ternholt" emacs-test-project) (concat emacs-test-work "ternholt"))
(setq make-backup-files nil
      create-lockfiles nil
      eglot-confirm-server-initiated-edits nil
      eglot-send-changes-idle-time 0.05
      exec-path (cons (file-name-directory (getenv "TRUNNION_BIN")) exec-path))
(load (expand-file-name "editor-clients/emacs/trunnion.el" emacs-test-project) nil t)

(with-temp-file (concat emacs-test-work "page.xml") (insert "<page/>\n"))
(find-file (concat emacs-test-work "page.xml"))
(run-hooks 'post-command-hook)
(emacs-test-check "no server starts for other XML" (null (eglot-current-server)))

(defvar emacs-test-began (float-time))
(find-file (concat emacs-test-work "ternholt/machines/bram-6.machine.xml"))
(run-hooks 'post-command-hook)
(emacs-test-check "the server starts for a machine definition" (emacs-test-wait #'eglot-current-server) major-mode)
(let* ((original (buffer-string))
       (story (save-excursion (emacs-test-find "<switch animation=\"mast.raise") (line-number-at-pos))))
  (emacs-test-check "the demo has its one finding"
                    (emacs-test-wait (lambda () (equal (mapcar #'car (emacs-test-findings)) (list story))))
                    (emacs-test-findings))
  (princ (format "TIME %.0f ms from opening the file to the first findings\n" (* 1000 (- (float-time) emacs-test-began))))

  ;; An element is typed and not closed.
  (buffer-enable-undo)
  (undo-boundary)
  (emacs-test-find "<lamps>\n")
  (insert "    <lamp id=\"tail\" node=\"0/2\" kind=\"tail\">\n")
  (forward-line -1)
  (emacs-test-check "an unclosed element is found"
                    (let ((here (line-number-at-pos)))
                      (emacs-test-wait (lambda () (assq here (emacs-test-findings)))))
                    (emacs-test-findings))
  (delete-region (line-beginning-position) (line-beginning-position 2))
  (emacs-test-check "… and gone once it is taken away"
                    (emacs-test-wait (lambda () (equal (mapcar #'car (emacs-test-findings)) (list story))))
                    (emacs-test-findings))

  (emacs-test-feature "findings")

  ;; What is told about a name; names to choose from; a name changed everywhere; the outline.
  (emacs-test-find "target=\"leg.l")
  (let (told)
    (ignore-errors (eglot-hover-eldoc-function (lambda (text &rest _) (setq told text))))
    (emacs-test-check "a hover tells where a name leads"
                      (emacs-test-wait (lambda () (and told (string-match-p "0/0/0" told)))) told))
  (emacs-test-feature "hover")
  (emacs-test-find "target=\"leg.l")
  (backward-char 5)
  (emacs-test-check "names are completed"
                    (let ((capf (eglot-completion-at-point)))
                      (member "leg.right" (all-completions "" (nth 2 capf))))
                    (eglot-completion-at-point))
  (emacs-test-feature "completion")
  (emacs-test-find "target=\"leg.l")
  (undo-boundary)
  (eglot-rename "leg.port")
  (emacs-test-check "a name is changed where it is given and used"
                    (and (= 2 (how-many "\"leg\\.port\"" (point-min) (point-max)))
                         (= 0 (how-many "\"leg\\.left\"" (point-min) (point-max))))
                    (buffer-string))
  (undo-boundary)
  (let ((last-command nil)) (undo))
  (emacs-test-check "… and back" (equal (buffer-string) original))
  (emacs-test-feature "rename")
  (emacs-test-check "the outline is listed" (string-match-p "mast\\.raise" (format "%S" (eglot-imenu))))
  (emacs-test-feature "outline")
  (emacs-test-find "target=\"leg.l")
  (emacs-test-check "all places of a name are listed"
                    (= 2 (length (xref-backend-references 'eglot "leg.left"))))
  (emacs-test-feature "references")

  (emacs-test-find "<channel target=\"leg.left\"")
  (eglot--signal-textDocument/didChange) ; else it waits for the next pause in typing
  (let (told)
    (eglot-signature-eldoc-function (lambda (text &rest _) (setq told text)))
    (emacs-test-check "the attributes of a tag are shown while it is written"
                      (emacs-test-wait (lambda () (and told (string-match-p "<channel target property" told)))) told))
  (emacs-test-feature "attributes")
  (if (not (file-exists-p (expand-file-name "editor-clients/preview-page/built/page.js" emacs-test-project)))
      (princ "SKIPPED: the live preview in Emacs, its page is not built\nUNTRIED preview\n")
    (let ((address (trunnion-preview)))
      (emacs-test-check "the live preview is served"
                        (with-current-buffer (url-retrieve-synchronously address t t 15)
                          (goto-char (point-min))
                          (and (looking-at-p "HTTP/1.1 200") (search-forward "<script" nil t)))
                        address))
    (emacs-test-feature "preview"))

  ;; From a channel's part to its alias, and on into the scene.
  (emacs-test-find "target=\"leg.l")
  (xref-find-definitions "leg.left")
  (emacs-test-check "a name leads to its alias" (string-match-p "<alias name=\"leg.left\"" (emacs-test-line)) (emacs-test-line))
  (emacs-test-find "<alias name=\"leg.left\"   path=\"0/")
  (xref-find-definitions "0/0/0")
  (emacs-test-check "a path leads into the scene" (string-match-p "\"name\": \"leg.left\"" (emacs-test-line)) (emacs-test-line))
  (find-file (concat emacs-test-work "ternholt/machines/bram-6.machine.xml"))
  (emacs-test-feature "definition")

  ;; The legs become adjustable.
  (emacs-test-find "target=\"leg.l")
  (undo-boundary)
  (setq last-nonmenu-event ?\r) ; as if a key had asked for the assists, not the mouse
  (cl-letf (((symbol-function 'completing-read)
             (lambda (_prompt titles &rest _)
               (cl-find-if (lambda (title) (string-prefix-p "Make adjustable: `leg.left` and `leg.right`" title)) (all-completions "" titles)))))
    (eglot-code-actions (point) (point) nil t))
  (emacs-test-check "the assist changes the buffer"
                    (emacs-test-wait (lambda () (not (equal (buffer-string) original)))))
  (emacs-test-check "… and gives the legs a lever that carries their wheels"
                    (ignore-errors
                      (emacs-test-find "<lever animation=\"leg.")
                      (let ((end (save-excursion (search-forward "</lever>"))))
                        (cl-every (lambda (wheel)
                                    (save-excursion (search-forward (format "<carry wheel=\"%s\"" wheel) end t)))
                                  '("front.left" "front.right" "rear.left" "rear.right"))))
                    (buffer-string))
  (emacs-test-feature "assists")
  (undo-boundary)
  (let ((last-command nil)) (undo))
  (emacs-test-check "one undo brings everything back" (equal (buffer-string) original)
                    (buffer-substring-no-properties (point-min) (point-max))))

(set-buffer-modified-p nil)
(ignore-errors (eglot-shutdown (eglot-current-server) nil 5))
(delete-directory emacs-test-work t)
(princ (if (= emacs-test-failures 0) "all is well in Emacs\n" (format "%d checks failed in Emacs\n" emacs-test-failures)))
(kill-emacs (if (= emacs-test-failures 0) 0 1))
;;; emacs.el ends here
